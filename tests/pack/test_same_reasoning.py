"""The page's engine against the engine of record, event by event."""

import json
from collections import Counter
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Role
from diagnose.session.events import Event, to_plain
from diagnose.session.law import refusal
from diagnose.session.session import conclude, step
from diagnose.terminal.replay import script_events
from diagnose.words import spoken
from tests.pack.page import followed, opened, packed
from tests.pack.rounds import walked
from tests.pack.states import difference, followed_here
from tests.pack.visits import random_events
from tests.shipped import knowledge, quick, reasoner

DEMOS = sorted(shipped_folder("transcripts_demo").glob("*.yaml"))
FEW, MANY = 15, 500


def compared(tab: Page, events: list[Event], but: Collection[str] = ()) -> float:
    here, there = followed_here(reasoner(), events), followed(tab, events)
    return difference([{k: v for k, v in state.items() if k not in but} for state in here], there)


@pytest.mark.parametrize("script", DEMOS, ids=lambda p: p.stem)
def test_every_demo_visit_runs_the_same_in_the_page(tab: Page, script: Path) -> None:
    events = script_events(reasoner(), script)
    assert len(events) > 3
    compared(tab, events)


def random_seeds(count: int) -> Iterator[int]:
    return iter(range(7000, 7000 + count))


def test_random_visits_run_the_same_in_the_page(tab: Page) -> None:
    for seed in random_seeds(FEW):
        compared(tab, random_events(reasoner(), seed))


@pytest.mark.parametrize(("role", "seeds"), [("technician", (8301, 8305)), ("help_desk", (8300, 8302, 8305))])
def test_what_is_done_in_one_go_is_the_same_in_the_page(tab: Page, role: Role, seeds: tuple[int, ...]) -> None:
    """Looks at one place, and what a measurement needs: after every answer of visits that come to both."""
    seen: list[list[Any]] = []
    for seed in seeds:
        events = walked(seed, role)
        here, there = steps_of(events), tab.evaluate(STEPS, json.loads(json.dumps([to_plain(e) for e in events])))
        assert here == there
        seen += here
    together = Counter(why == "needed" for _, why, beside in seen if beside)
    assert together[True] > 1 and together[False] > 1


STEPS = """(events) => {
  let session = null;
  return events.map((event) => {
    session = gateDiagnose.step(gateDiagnose.kb, session, event);
    const { check, why, beside } = gateDiagnose.conclude(session).next;
    return [check, why, beside];
  });
}"""


def steps_of(events: list[Event]) -> list[list[Any]]:
    found, session = [], None
    for event in events:
        session = step(knowledge(), session, event)
        following = conclude(quick(), session).next
        found.append([following.check, following.why, list(following.beside)])
    return found


def test_what_the_law_refuses_it_refuses_in_the_page_with_the_same_sentence(tab: Page) -> None:
    """Events of random visits that are refused, until most of the law's sentences were heard."""
    heard: set[str] = set()
    for seed in range(9000, 9020):
        events = random_events(reasoner(), seed, most=20)
        here, there = refusals(events), tab.evaluate(REFUSALS, json.loads(json.dumps([to_plain(e) for e in events])))
        assert here == there
        heard |= {says[:12] for says in here}
    known = {forms[0][:12] for key, forms in spoken().texts.items() if key.startswith("session.")}
    assert len(heard & known) >= 8


REFUSALS = """(events) => {
  let session = null;
  return events.map((event) => {
    try {
      session = gateDiagnose.step(gateDiagnose.kb, session, event);
      return "";
    } catch (error) {
      return error.message;
    }
  });
}"""


def refusals(events: list[Event]) -> list[str]:
    found, session = [], None
    for event in events:
        no = refusal(knowledge(), session, event)
        session = session if no else step(knowledge(), session, event)
        found.append(no.says if no else "")
    return found


@pytest.mark.long
def test_five_hundred_random_visits_run_the_same_in_the_page(tab: Page) -> None:
    worst = max(compared(tab, random_events(reasoner(), seed, most=16)) for seed in random_seeds(MANY))
    print(f"worst relative difference of {MANY} random visits: {worst:.1e}")


def test_a_page_cut_to_some_sensors_still_reasons_the_same(browser: Browser, tmp_path: Path) -> None:
    """For visits to those sensors. What it cannot offer is to look again at a check of another kind."""
    path, kept = tmp_path / "cut.html", ("loop", "edge")
    path.write_bytes(packed(kept))
    tab = opened(browser, path)
    checks = {c.id for c in knowledge().checks.values() if not c.devices or set(kept) & set(c.devices)}
    visits = [random_events(reasoner(), seed, sensors=kept) for seed in range(8000, 8012)]
    fitting = [v for v in visits if all(getattr(e, "check", "anyone_touched") in checks for e in v)]
    assert len(fitting) > 5
    for events in fitting:
        compared(tab, events, but=("doubts", "again", "unfitting", "doers", "barred"))
