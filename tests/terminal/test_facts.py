"""What a measurement needs, typed in one line at the prompt."""

import pytest

from diagnose.model.visit import Setup
from diagnose.present.looks import in_one_go
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import conclude, replay, step
from diagnose.session.state import Session
from diagnose.words import say
from tests.shipped import knowledge, quick
from tests.terminal.typed import play

NEEDED = ("lop_job", "lop_neighbour", "lop_missed_kind")  # the last one is what is wanted


def at_facts() -> Session:
    """A visit on which nothing is known, at the first question that something else needs."""
    safe: list[Event] = [Reply("anyone_touched", "nobody"), Reply("gate_made_safe", "safe")]
    session = replay(knowledge(), [Begin(Setup(), "misses_vehicles"), *safe])
    while (following := conclude(quick(), session).next).why != "needed":
        session = step(knowledge(), session, Reply(following.check, "dont_know"))
    return session


def test_the_needs_and_what_they_are_for_are_asked_in_one_go() -> None:
    session = at_facts()
    assert tuple(c.id for c in in_one_go(knowledge(), conclude(quick(), session))) == NEEDED


def test_one_line_answers_them_all() -> None:
    played = play("1; no; ?", session=at_facts(), rounds=True)
    assert [(r.check, r.value) for r in played.saved[:3] if isinstance(r, Reply)] == list(
        zip(NEEDED, ("opens", "no", "dont_know"), strict=True)
    )
    for check in NEEDED:
        assert knowledge().checks[check].ask in played.flat()


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("1; no", say("terminal.facts_number", n=3, typed=2)),
        ("1; perhaps not; 2", "Number 2:"),
        ("the sky is blue", say("terminal.facts_how", n=3, one="one")),
    ],
)
def test_a_line_that_cannot_be_read_takes_nothing(typed: str, told: str) -> None:
    played = play(typed, session=at_facts(), rounds=True)
    assert played.saved == []
    assert played.flat().count(told) == 1 + told.startswith("Type all")


def test_one_at_a_time_asks_the_first_alone() -> None:
    played = play("one", "1", session=at_facts(), rounds=True)
    assert played.saved == [Reply(NEEDED[0], "opens")]
