"""Ways to end, opening again, hand-overs on the same machine, notes; and what 'more' and 'back' mean."""

import pytest

from diagnose.errors import SessionError
from diagnose.model.visit import Setup
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Begin,
    Close,
    Conclude,
    Event,
    Noted,
    Proved,
    Reopen,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.law import back, endings, more
from diagnose.session.session import replay, salvage, step
from diagnose.session.state import Ended, Note, Session
from diagnose.session.visit_record import visit_record
from tests.session.test_law import CALL, KB, UNLICENSED

OWED = Close("proof_owed", by="Mr Example", due="2026-12-03", meanwhile="stays open, with a watchman")
TOUCHED = (Repaired("wire", by="technician", name="Ana"), Proved(True))


def visit(*events: Event, setup: Setup = UNLICENSED, by: str = "") -> Session:
    return replay(KB, [Begin(setup, "stuck", by=by), *events])


def may_end(session: Session) -> set[str]:
    return {end for end, why in endings(KB, session).items() if not why}


def test_a_call_that_touched_protection_works_again_with_the_proof_owed() -> None:
    call = visit(*TOUCHED, setup=CALL)
    assert may_end(call) == {"proof_owed", "left_out", "dispatched", "passed_on"}
    assert step(KB, call, OWED).end == Ended(
        "proof_owed", by="Mr Example", due="2026-12-03", meanwhile="stays open, with a watchman"
    )
    assert "solved_on_phone" in may_end(visit(Repaired("dirt"), Proved(True), setup=CALL))


@pytest.mark.parametrize(
    ("lacks", "says"), {"by": "who proves", "due": "by which day", "meanwhile": "keeps people"}.items()
)
def test_nothing_of_what_is_owed_may_be_left_out(lacks: str, says: str) -> None:
    said = {"by": "Ana", "due": "2026-12-03", "meanwhile": "shut", lacks: " "}
    with pytest.raises(SessionError, match=says):
        step(KB, visit(*TOUCHED, setup=CALL), Close("proof_owed", **said))


@pytest.mark.parametrize("due", ["tomorrow", "2026-13-01", "20261203", "2026-12-3"])
def test_a_day_is_written_as_one(due: str) -> None:
    with pytest.raises(SessionError, match="by which day"):
        step(KB, visit(*TOUCHED, setup=CALL), Close("proof_owed", by="Ana", due=due, meanwhile="shut"))


def test_it_stays_open_until_a_technician_has_proved_it() -> None:
    owed = visit(*TOUCHED, OWED, setup=CALL)
    kept = visit_record("v", owed, ["2026-01-01T00:00:00+00:00"])
    assert (kept.state, kept.ended, kept.outcome and kept.outcome.in_service) == ("concluded", "", False)
    there = step(KB, owed, TakeOver(UNLICENSED, "Ben"))
    assert [x.outcome for x in there.earlier] == ["proof_owed"] and "in_service" not in may_end(there)
    for item in ("zone", "protective_zone"):
        there = step(KB, there, Ticked(item, "pass", "seen"))
    assert step(KB, there, Close("in_service")).by == "Ben"


def test_nothing_is_wrong_where_nothing_was_mended_and_nothing_is_owed() -> None:
    told = Close("nothing_wrong", "the caretaker was shown the hold-open switch")
    assert step(KB, visit(Reply("free_look", "no")), told).outcome == "nothing_wrong"
    with pytest.raises(SessionError, match="something was mended"):
        step(KB, visit(Repaired("dirt"), Proved(True)), told)
    for setup in (CALL, UNLICENSED):
        assert "nothing_wrong" not in may_end(visit(Reply("gap", "yes"), setup=setup))


def test_it_is_given_to_somebody_known() -> None:
    with pytest.raises(SessionError, match="to whom"):
        step(KB, visit(), Close("passed_on", "no start in the cold", to="the sun"))
    assert step(KB, visit(), Close("passed_on", "no start in the cold", to="maker")).end.to == "maker"


@pytest.mark.parametrize("end", [Close("left_out", "no part"), Close("dispatched", "cable"), OWED])
def test_every_end_can_be_opened_again_and_is_remembered(end: Close) -> None:
    ended = visit(*TOUCHED, end, setup=CALL)
    again = step(KB, ended, Reopen())
    assert (again.outcome, again.earlier) == ("", (ended.end,)) and again.given == ended.given
    assert step(KB, again, Back()) == ended
    with pytest.raises(SessionError, match="has not ended"):
        step(KB, again, Reopen())


def test_what_was_proved_for_an_end_is_proved_anew_after_it() -> None:
    ticks = [Ticked(i, "pass", "seen") for i in ("zone", "protective_zone")]
    again = visit(Repaired("wire"), Proved(True), *ticks, Close("in_service"), Reopen())
    assert not again.ticks and "in_service" not in may_end(again)
    assert [t.item for t in again.earlier[0].ticks] == ["zone", "protective_zone"]
    assert step(KB, again, AnotherFault()).attempts[0].surely_mended


def test_who_has_the_visit_is_named_with_what_he_did() -> None:
    session = visit(
        Reply("free_look", "no"), TakeOver(UNLICENSED, "Ben"), Reply("box_look", "yes"), Repaired("wire"), by="Ana"
    )
    assert [a.by for a in session.answers] == ["Ana", "Ben"]
    assert session.repairs[-1].name == "Ben"
    assert visit(*TOUCHED, setup=CALL, by="Cleo").repairs[-1].name == "Ana"
    assert visit(Reply("free_look", "no"), by="caller's friend").answers[0].by == "technician"


def test_a_note_stays_whatever_is_taken_back() -> None:
    session = visit(Repaired("wire"), Noted("an edge is missing", "remark"), Back(), by="Ana")
    assert session.notes == (Note("an edge is missing", "remark", "Ana"),) and not session.repairs
    assert step(KB, step(KB, session, Close("left_out", "no part")), Noted("two men came", "correction")).notes[1:]


def test_going_on_and_back_mean_what_stands_before_the_person() -> None:
    assert more(visit()) == AskOn() and more(visit(Repaired("wire"), Proved(True))) == AnotherFault()
    asked = visit(Reply("free_look", "no"), Conclude(), AskOn())
    assert back(asked) == Conclude() and step(KB, asked, back(asked)).concluded
    assert back(step(KB, asked, Reply("gap", "no"))) == Back()
    assert back(step(KB, asked, Close("left_out", "dark"))) == Back()


def test_a_visit_of_the_former_version_that_named_its_prover_stays_ended() -> None:
    end = Close("solved_on_phone", "caretaker, today")
    session, told = salvage(KB, [Begin(CALL, "stuck"), *TOUCHED, end])
    assert (session.outcome, session.reason) == ("solved_on_phone", "caretaker, today")
    assert len(told) == 1 and told[0].startswith("Kept")


def test_a_gate_at_which_nothing_was_mended_and_nothing_tried_does_not_go_back_in_service() -> None:
    """Nothing was left to prove, for nothing was owed: 'everything is proved' was said with nothing answered."""
    session = visit(Conclude())
    assert "in_service" not in may_end(session)
    with pytest.raises(SessionError, match="nothing was mended and nothing was proved"):
        step(KB, session, Close("in_service"))
