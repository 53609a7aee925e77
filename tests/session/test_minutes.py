"""What a visit has taken, and what is expected to come."""

from dataclasses import replace

import pytest

from diagnose.session.events import AnotherFault, Close, Proved, Repaired, Reply
from diagnose.session.minutes import minutes_of, spent
from diagnose.session.session import conclude
from tests.session.test_ending import visit
from tests.session.test_law import KB, REASONER

ASKED = KB.settings.asking_minutes
LOOK, BOX = KB.checks["free_look"].minutes, KB.checks["box_look"].minutes + KB.access["box"].minutes
WIRE = KB.causes["wire"]


def test_every_question_counts_and_every_check_that_was_made() -> None:
    assert spent(KB, visit()) == 0.0
    assert spent(KB, visit(Reply("free_look", "no"))) == pytest.approx(ASKED + LOOK)
    assert spent(KB, visit(Reply("free_look", "skip"))) == pytest.approx(ASKED)


def test_a_cover_is_opened_once() -> None:
    again = replace(KB, checks={**KB.checks, "gap": replace(KB.checks["gap"], access="box")})
    seen = visit(Reply("box_look", "no"), Reply("gap", "no"))
    assert spent(again, seen) == pytest.approx(2 * ASKED + BOX + again.checks["gap"].minutes)


def test_a_remedy_counts_when_it_is_noted_and_its_proof_when_it_is_made() -> None:
    pending, done = visit(Repaired("wire")), visit(Repaired("wire"), Proved(False))
    assert spent(KB, pending) == pytest.approx(WIRE.remedy.minutes)
    assert spent(KB, done) == pytest.approx(WIRE.remedy.minutes + WIRE.proof_minutes)


def test_answers_that_are_carried_on_count_once() -> None:
    session = visit(Reply("free_look", "no"), Repaired("wire"), Proved(True), AnotherFault())
    assert session.carried
    assert spent(KB, session) == pytest.approx(ASKED + LOOK + WIRE.remedy.minutes + WIRE.proof_minutes)


def test_what_is_to_come_is_what_the_reasoner_expects_then_the_proof_then_nothing() -> None:
    def left(*events: object) -> float:
        session = visit(*events)  # type: ignore[arg-type]
        return minutes_of(KB, session, conclude(REASONER, session)).to_come

    asked = conclude(REASONER, visit())
    assert left() == asked.ahead.now > 0
    assert left(Repaired("wire")) == WIRE.proof_minutes
    assert left(Repaired("wire"), Proved(True)) == left(Close("left_out", "no part")) == 0.0
