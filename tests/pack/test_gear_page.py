"""A page for one gate, whose devices have names: it reasons as the engine does, and takes in no other visits."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from diagnose.cli import main
from diagnose.model.gear import Gear
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Named, Reply, TakeOver, to_plain
from diagnose.session.gear_words import gear_says, read_gear
from diagnose.session.session import conclude, replay
from diagnose.store.journal import Journal, read
from tests.pack.page import followed, opened, packed
from tests.pack.records import presented, presented_here
from tests.pack.states import difference, followed_here
from tests.pack.test_files import NOW
from tests.pack.visits import random_events
from tests.pack.walk import answer, begin, save_file, singly
from tests.shipped import knowledge, reasoner

GATE = read_gear(knowledge(), "laser over the entry opens, low eye (photo_eye) protects, exit loop opens")


@pytest.fixture(scope="module")
def gate_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("gate") / "gate.html"
    path.write_bytes(packed(gear=GATE))
    return path


@pytest.fixture(scope="module")
def at_gate(browser: Browser, gate_page: Path) -> Page:
    return opened(browser, gate_page)


@pytest.mark.parametrize("seed", [7100, 7101])
def test_a_random_visit_to_the_gate_runs_the_same_in_its_page(at_gate: Page, seed: int) -> None:
    papers = replace(GATE[1], facts={"device.protective_logic": "dod_no"})
    gear = (GATE[0], papers, GATE[2])
    events = random_events(reasoner(), seed, gear=gear)
    difference(followed_here(reasoner().at(gear), events), followed(at_gate, events))


def test_the_chain_of_each_device_stands_the_same_in_its_page(at_gate: Page) -> None:
    at = reasoner().at(GATE)
    seen = {"power_lamp": "steady", "lamp_clear": "detecting"}
    events: list[Event] = [begun(GATE), *(Reply(f"{check}@exit_loop", value) for check, value in seen.items())]
    shown = presented(at_gate, events, ())["strips"]
    assert shown == presented_here(at, replay(at.kb, events), ())["strips"]
    assert [strip["name"] for strip in shown if strip["known"]] == ["exit loop"]


def test_a_visit_begun_on_the_page_names_its_devices_on_the_command_line(
    browser: Browser, gate_page: Path, tmp_path: Path
) -> None:
    tab = opened(browser, gate_page)
    begin(tab, complaint="ghost_opening")
    for wanted in ("nobody and nothing", "safe", None, None, None):
        answer(tab, wanted)
    assert gear_says(knowledge(), GATE) in tab.inner_text("main")
    session = replay(knowledge(), read(save_file(tab, tmp_path)).events)
    assert session.setup.gear == GATE and session.setup.devices == ("laser", "photo_eye", "loop")
    singly(tab)
    asked = reasoner().at(GATE).kb.checks[conclude(reasoner(), session).next.check].ask
    assert tab.inner_text("h2#top").endswith(asked)


def file_with(folder: Path, *events: Event) -> Path:
    with Journal.create(folder, NOW) as journal:
        for event in events:
            journal.append(event, NOW)
    return journal.path


def begun(gear: Gear) -> Begin:
    return Begin(Setup(gear=gear), "stuck_open", digest=knowledge().digest, id="a-visit")


def test_a_page_for_the_only_device_of_a_gate_names_it_too(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "one.html"
    path.write_bytes(packed(gear=GATE[:1]))
    tab = opened(browser, path)
    begin(tab, complaint="stuck_open")
    session = replay(knowledge(), read(save_file(tab, tmp_path)).events)
    assert session.setup.gear == GATE[:1] and session.setup.devices == ("laser",)


def test_devices_by_name_and_kinds_of_sensor_are_not_told_both(tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    assert main(["offline", "-o", str(target), "--gear", "laser opens", "--sensors", "loop"]) == 2
    assert not target.exists()


OTHERS: dict[str, tuple[Event, ...]] = {
    "no devices": (begun(()),),
    "fewer devices": (begun(GATE[:2]),),
    "another job": (begun((replace(GATE[0], jobs=("closes",)), *GATE[1:])),),
    "devices named later": (begun(()), Reply("lamp_clear", "clear"), Named(GATE, {"": GATE[0].key})),
    "devices named anew": (begun(GATE), Named(GATE[:2])),
}


@pytest.mark.parametrize("events", OTHERS.values(), ids=OTHERS)
def test_a_visit_to_another_gate_is_refused_and_left_as_it_is(
    at_gate: Page, tmp_path: Path, events: tuple[Event, ...]
) -> None:
    at_gate.click("nav >> text=All visits")
    kept = at_gate.evaluate("localStorage.length")
    at_gate.set_input_files("input[type=file]", file_with(tmp_path, *events))
    at_gate.wait_for_selector("#status:has-text('this page is for a gate with laser over the entry')")
    assert at_gate.evaluate("localStorage.length") == kept


def test_a_visit_kept_by_another_page_of_this_browser_is_not_lost(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    """Pages on one disk share what is kept; the visit is listed, and opening it says why it cannot be."""
    tab = opened(browser, whole_page)
    text = file_with(tmp_path, begun(GATE)).read_text()
    tab.evaluate("(text) => localStorage.setItem('gate-diagnose.visit.a-visit', text)", text)
    tab.reload()
    tab.click("button:has-text('Open')")
    tab.wait_for_selector("#status:has-text('this page is for a gate with no devices named')")
    assert tab.evaluate("localStorage.getItem('gate-diagnose.visit.a-visit')") == text


def test_the_gate_s_own_visit_goes_on_in_its_page(browser: Browser, gate_page: Path, tmp_path: Path) -> None:
    path = file_with(
        tmp_path, begun(GATE), Reply("anyone_touched", "nobody"), Named(GATE), TakeOver(Setup(electrician=True))
    )
    tab = opened(browser, gate_page)
    tab.set_input_files("input[type=file]", path)
    tab.wait_for_selector("text=Hand over this visit")
    answer(tab, "safe")
    events = read(save_file(tab, tmp_path / "again")).events
    assert isinstance(events[-1], Reply) and events[-1].check == "gate_made_safe"
    assert json.dumps([to_plain(e) for e in events[:4]]) == json.dumps([to_plain(e) for e in read(path).events])
