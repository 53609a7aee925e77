"""What is shown is one decision: the page's records against the presenter's, field by field."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from diagnose.errors import DiagnoseError
from diagnose.kb.files import shipped_folder
from diagnose.session.events import Back, Event
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.terminal.replay import script_events
from tests.pack.records import clear_cut, presented, presented_here, settled
from tests.pack.rounds import FACTS, LOOKS, until
from tests.pack.visits import random_events
from tests.shipped import knowledge, reasoner

DEMOS = sorted(shipped_folder("transcripts_demo").glob("*.yaml"))


Coming = tuple[Any, ...]  # what `until` is given


def session_of(events: list[Event]) -> Session:
    """After those of the events that are allowed."""
    session: Session | None = None
    for event in events:
        try:
            session = step(knowledge(), session, event)
        except DiagnoseError:
            continue
    assert session
    return session


BY_RANK = ("doubts", "why", "likely", "workings", "result", "next", "sheet")  # follow the order of the causes


def compared(tab: Page, events: list[Event]) -> bool:
    """Whether everything could be compared; what follows the order of the causes may differ where some are tied."""
    session = session_of(events)
    clear = clear_cut(conclude(reasoner(), session))
    told = sorted(knowledge().cautions)[::2]  # about half of them, so that both kinds of 'said before' are seen
    here, there = (
        settled(record) for record in (presented_here(reasoner(), session, told), presented(tab, events, told))
    )
    assert here.keys() == there.keys()
    for name, record in here.items():
        assert there[name] == record or (name in BY_RANK and not clear), name
    return clear


@pytest.mark.parametrize("script", DEMOS, ids=lambda p: p.stem)
def test_every_demo_visit_shows_the_same_in_the_page(tab: Page, script: Path) -> None:
    events = script_events(reasoner(), script)
    for n in (len(events) // 2, len(events)):
        compared(tab, events[:n])


def test_an_answer_given_anew_has_the_same_number_in_the_page(tab: Page) -> None:
    begin, *replies = script_events(reasoner(), DEMOS[0].with_name("edited_answers_loop.yaml"))[:5]
    events = [begin, *replies, replies[0], replies[2], Back(), replies[1]]
    compared(tab, events)
    shown = presented(tab, events, [])["answers"]["given"]
    assert [a["number"] for a in shown] == [1, 2, 4]


@pytest.mark.parametrize(
    ("record", "count", "coming"),
    [
        ("looks", 6, (LOOKS, "ghost_opening", ("laser",))),
        ("facts", 3, (FACTS, "dead_indicators", ("loop",))),
        ("looks", 3, (LOOKS, "stuck_open", ("laser",), "help_desk")),
    ],
)
def test_what_is_asked_in_one_go_shows_the_same_in_the_page(
    tab: Page, record: str, count: int, coming: Coming
) -> None:
    """A technician's looks, as many as there may be at once; a caller's; the facts of one measurement."""
    events = until(*coming)
    compared(tab, events)
    assert len(presented(tab, events, [])[record][record]) == count


def test_random_visits_show_the_same_in_the_page(tab: Page) -> None:
    found = [compared(tab, random_events(reasoner(), seed, most=14)) for seed in range(8100, 8112)]
    assert sum(found) > 6
