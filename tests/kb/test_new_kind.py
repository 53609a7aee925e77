"""A kind of sensor that is one folder of YAML: it works in every front end, in practice, on the card and in cases."""

import io
import json
import shutil
from functools import partial
from html import unescape
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from starlette.testclient import TestClient

from diagnose.cases.play import CasePlayer, Spoil
from diagnose.cases.read import read_case
from diagnose.cases.result import result_of
from diagnose.cases.ways import WAYS
from diagnose.cli import main
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Setup
from diagnose.pack.build import payload
from diagnose.pack.page import page
from diagnose.practice.exercise import begin, replayed
from diagnose.practice.gate import WantedGate, draw_gate
from diagnose.practice.moves import CheckMove, ProofMove, RepairMove
from diagnose.session.checklist import checklist
from diagnose.session.events import Begin, Conclude, Event, Proved, Repaired, Reply
from diagnose.session.session import conclude, replay
from diagnose.store.profiles import load_profile
from diagnose.terminal.reader import ROUND, ScriptReader
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from diagnose.web.app import build
from diagnose.web.context import PageContext
from diagnose.web.keeper import Doorkeeper
from diagnose.web.visits import Visits
from tests.pack.page import followed, opened
from tests.pack.states import difference, followed_here
from tests.web.tab import HOME, Tab, nothing

OWN = Path(__file__).parent / "ultrasonic"
KIND, SAYS = "ultrasonic", "ultrasonic distance sensor"
COVERED = "uls_face_covered"
SETUP = Setup(devices=(KIND,))
FOUND = {
    "anyone_touched": "nobody", "gate_made_safe": "safe", "mec_gate_kind": "barrier_arm", "when_it_happens": "wet",
    "lamp_clear": "detecting", "uls_face_look": "covered",
}  # fmt: skip
VISIT: list[Event] = [
    Begin(SETUP, "stuck_open"), *(Reply(check, value) for check, value in FOUND.items()),
    Conclude(), Repaired(COVERED), Proved(True),
]  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shipped knowledge with the kind's folder put beside the others, and nothing else changed."""
    made = tmp_path_factory.mktemp("kind") / "knowledge"
    shutil.copytree(shipped_folder("knowledge"), made, ignore=shutil.ignore_patterns("cases", "coverage"))
    shutil.copytree(OWN, made, dirs_exist_ok=True)
    return made


@pytest.fixture(scope="module")
def reasoner(folder: Path) -> Reasoner:
    kb = load_knowledge(folder)
    return Reasoner(kb, partial(fixpoint, kb))


def test_the_check_wants_its_entries_registered_and_nothing_else(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check-knowledge", str(folder)]) == 1
    told = [line for line in capsys.readouterr().out.splitlines() if ".yaml:" in line]
    assert told and all("ultrasonic/" in line and "not in the safety register yet" in line for line in told)
    assert main(["check-knowledge", str(folder), "--register"]) == 0
    assert main(["check-knowledge", str(folder)]) == 0


def test_entries_written_for_a_trait_take_it_in_and_others_do_not(reasoner: Reasoner) -> None:
    kb = reasoner.kb
    for entry in (kb.causes["long_thin_cable_drop"], kb.causes["cable_damaged"], kb.checks["lamp_vehicle"]):
        assert KIND in entry.devices
    for entry in (kb.causes["low_sun_into_sensor"], kb.causes["test_wire_broken"], kb.causes["loop_open"]):
        assert KIND not in entry.devices


def test_the_terminal_asks_its_checks_and_finds_its_cause(reasoner: Reasoner) -> None:
    out, session = io.StringIO(), replay(reasoner.kb, VISIT[:1])
    screen = Screen(out, 80, plain=True)
    options = {c: list(reasoner.kb.checks[c].options) for c in FOUND}
    lines = {check: [str(1 + options[check].index(value))] for check, value in FOUND.items()}
    lines[ROUND] = ["one"]
    ended = Visit(reasoner, session, screen, ScriptReader(lines, [], screen.line), lambda _: None).run()
    assert {a.check for a in ended.given} >= {"uls_face_look"}
    belief = dict(conclude(reasoner, ended).belief.ranked())
    assert max(belief, key=lambda cause: belief[cause]) == COVERED
    assert "sound face" in " ".join(out.getvalue().split())


def test_what_is_proved_at_it_is_on_the_checklist(reasoner: Reasoner) -> None:
    items = {item.id: item.protective for item in checklist(reasoner.kb, replay(reasoner.kb, VISIT))}
    assert items["uls_cone"] and items["protective_zone"] and "edge" not in items
    elsewhere: list[Event] = [
        Begin(Setup(devices=("loop",)), "stuck_open"),
        Conclude(),
        Repaired("auto_close_off"),
        Proved(True),
    ]
    assert "uls_cone" not in {item.id for item in checklist(reasoner.kb, replay(reasoner.kb, elsewhere))}


def test_the_pages_offer_it_and_ask_its_checks(reasoner: Reasoner, tmp_path: Path) -> None:
    context = PageContext(Visits(reasoner, tmp_path), Doorkeeper(), nothing)
    tab = Tab(TestClient(build(context, local=True), base_url=HOME))
    assert SAYS in tab.open("/start").text
    tab.begin("stuck_open", sensor=KIND)
    asked: list[str] = []
    while len(asked) < 12 and not any(check.startswith("uls_") for check in asked):
        form = next(f for f in tab.singly().forms() if f.fields.get("do") == "reply" and f.buttons)
        asked.append(form.fields["check"])
        assert reasoner.kb.checks[asked[-1]].ask in unescape(tab.text)
        name, first = form.buttons[0]
        tab.send(form, **{name: FOUND.get(asked[-1], first)})
    assert asked[-1] == "uls_face_look" and tab.status == 200


def test_the_offline_page_cut_to_it_carries_it_and_reasons_the_same(
    browser: Browser, reasoner: Reasoner, tmp_path: Path
) -> None:
    profile = load_profile(str(OWN / "profiles" / "invented_ultrasonic.yaml"))
    held = json.loads(json.dumps(payload(reasoner.kb, [KIND], [profile])))
    assert held["sensors"] == [KIND] and [p["id"] for p in held["profiles"]] == [profile.id]
    causes = dict(held["knowledge"]["causes"])
    assert {COVERED, "long_thin_cable_drop"} <= set(causes) and "low_sun_into_sensor" not in causes
    path = tmp_path / "page.html"
    path.write_bytes(page(payload(reasoner.kb, [KIND]) | {"about": {"packed": ""}}))
    there = followed(opened(browser, path), VISIT)
    of_all = ("doers", "barred")  # said of every cause and check, also of those that a cut page leaves out
    here = [{k: v for k, v in state.items() if k not in of_all} for state in followed_here(reasoner, VISIT)]
    assert len(here) == len(VISIT) and difference(here, there) < 1e-9


def test_practice_hides_its_faults_with_readings_that_show_them(reasoner: Reasoner) -> None:
    gates = (draw_gate(reasoner, SETUP, WantedGate(family="environment"), seed) for seed in range(60))
    gate = next(g for g in gates if g.truth == (COVERED,) and g.states["uls_distance_shown"] == "short")
    shown, taped = (gate.results[c] for c in ("uls_distance_shown", "uls_distance_taped"))
    assert isinstance(shown, float) and isinstance(taped, float) and shown < 0.9 * taped
    end = replayed(reasoner, gate, [CheckMove("uls_face_look"), RepairMove((COVERED,), prepared=True), ProofMove()])
    assert begin(reasoner, gate).session.repairs == () and end.session.repairs[-1].proof == "passed"


def test_its_card_is_printed(folder: Path, tmp_path: Path) -> None:
    words = ["card", "stuck_open", "--sensors", KIND, "--html", "--cases", "0", "--plain"]
    assert main([*words, "--knowledge", str(folder), "--output", str(tmp_path)]) == 0
    text = unescape((tmp_path / f"card_stuck_open_{KIND}.html").read_text("utf-8"))
    assert SAYS.capitalize() in text and "sound face" in text


def test_a_field_case_about_it_is_played_to_its_end(folder: Path, reasoner: Reasoner) -> None:
    filed = read_case(folder / "cases" / "us01.yaml")
    assert filed.case and not filed.problems
    played = CasePlayer(reasoner, filed.case, 1, WAYS["tool"](0.9), Spoil()).play()
    found = result_of(reasoner.kb, played)
    assert (found.first, found.ended, found.wrong_remedies) == (True, "mended", 0)
