"""After a repair that did not end the trouble: what is asked again, what is proposed again, what is said."""

from collections.abc import Iterator

import pytest

from diagnose.core.reason import Conclusion
from diagnose.core.stage import touched_by
from diagnose.model.visit import Setup
from diagnose.present.conclusion import result_of
from diagnose.session import events as e
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.session.summary import summarise
from diagnose.words import say
from tests.shipped import knowledge, reasoner

SETUP = Setup(devices=("laser",))
NORMAL = {"anyone_touched": "nobody", "gate_made_safe": "safe"}
TRIED = ("low_sun_into_sensor", "loose_supply_terminal", "junction_box_wet", "bracket_not_locked")


def walked(session: Session, most: int) -> tuple[Session, Conclusion]:
    """Up to `most` questions answered with what is normal."""
    found = conclude(reasoner(), session)
    for _ in range(most):
        if not (check := found.next.check):
            break
        session = step(knowledge(), session, e.Reply(check, usual(check)))
        found = conclude(reasoner(), session)
    return session, found


def usual(name: str) -> str | float:
    check = knowledge().checks[name]
    if name in NORMAL:
        return NORMAL[name]
    if check.finding and check.kind != "quantity" and (fits := next(iter(check.finding.states.values()))):
        return fits[0] if fits[0] in {**check.options, "yes": "", "no": ""} else "dont_know"
    return "dont_know"


def failed(cause: str) -> Iterator[Session]:
    """The visit after the repair, then after one more answer at a time."""
    session, _ = walked(step(knowledge(), None, e.Begin(SETUP, "ghost_opening")), 10)
    for event in (e.Conclude(), e.Repaired(cause), e.Proved(False, "just the same")):
        session = step(knowledge(), session, event)
    yield session
    for _ in range(3):
        session, _ = walked(session, 1)
        yield session


@pytest.mark.parametrize("cause", TRIED)
def test_only_what_the_repair_can_have_changed_is_asked_again(cause: str) -> None:
    kb = knowledge()
    for session in failed(cause):
        asked = {a.check for a in session.given}
        again = {o.check for o in conclude(reasoner(), session).ahead.options} & asked
        assert again <= touched_by(kb, cause)
        assert not any(kb.checks[c].lasts for c in again)


@pytest.mark.parametrize("cause", TRIED)
def test_what_failed_is_not_proposed_again_before_a_look_whether_it_worked(cause: str) -> None:
    kb = knowledge()
    for session in failed(cause):
        found = conclude(reasoner(), session)
        since = {a.check for a in session.answers if a.says_something}
        looked = bool(since & touched_by(kb, cause))
        assert (cause in found.tried) == (not looked)
        if not looked:
            assert cause not in summarise(reasoner(), session, found).order


def test_after_three_repairs_in_vain_the_tool_says_that_it_knows_no_further() -> None:
    session, _ = walked(step(knowledge(), None, e.Begin(SETUP, "ghost_opening")), 10)
    causes = TRIED[:3]
    for cause in causes:
        for event in (e.Conclude(), e.Repaired(cause), e.Proved(False, "just the same")):
            session = step(knowledge(), session, event)
        session, found = walked(session, 1)
    assert (found.next.check, found.next.why) == ("", "beyond")
    notes = result_of(reasoner(), session, found).notes
    assert say("present.hand_over") in notes
    vain = "; ".join(knowledge().causes[c].says for c in causes)
    assert say("present.tried_in_vain", causes=vain) in notes
