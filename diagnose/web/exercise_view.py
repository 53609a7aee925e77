"""An exercise as plain values: where it stands."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice import coach
from diagnose.practice.exercise import Exercise
from diagnose.practice.moves import HintMove, SuspectMove
from diagnose.practice.wording import move_says
from diagnose.present.figures import minutes
from diagnose.present.notices import Order, orders_of
from diagnose.present.practice import (
    Offered,
    complaint_of,
    noted_of,
    offered_of,
    proved_of,
    sensors_of,
    shown_of,
    site_of,
    told_of,
)
from diagnose.present.strip import Strip
from diagnose.session.checklist import open_items
from diagnose.session.session import conclude
from diagnose.session.wording import answer_says
from diagnose.web.exercises import OpenedExercise


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the exercise stands. `strips`: which links of the chain are proved good so far; `offered` checks by
    part; `owed` a proof, '' for none."""

    name: str
    number: int
    lesson: str
    trainee: str
    complaint: str
    sensors: str
    site: str
    minutes: str
    orders: tuple[Order, ...]
    last: str
    results: tuple[tuple[str, str], ...]
    told: tuple[str, ...]
    hint: str
    answers: tuple[tuple[str, str], ...]
    strips: tuple[Strip, ...]
    offered: Mapping[str, tuple[Offered, ...]]
    wrote: bool
    owed: str
    proved: tuple[tuple[str, str], ...]


def stand_of(reasoner: Reasoner, opened: OpenedExercise, words: str) -> Stand:
    kb, exercise = reasoner.kb, opened.exercise
    conclusion, session = conclude(reasoner, exercise.session), exercise.session
    moved = exercise.done[-1].move if exercise.done else None
    told = coach.feedback(reasoner, *opened.stages[-2:]) if len(opened.stages) > 1 else None
    hint = coach.hint(reasoner, opened.stages[-2], opened.lesson.hints)[1] if isinstance(moved, HintMove) else ""
    noted = noted_of(kb, conclusion.belief.network.causes, moved.words) if isinstance(moved, SuspectMove) else ""
    items = [] if session.pending or exercise.gate.truth else open_items(kb, session)
    return Stand(
        name=opened.name,
        number=opened.number,
        lesson=opened.lesson.says,
        trainee=opened.trainee,
        complaint=complaint_of(kb, exercise.gate),
        sensors=sensors_of(kb, exercise.gate),
        site=site_of(kb, exercise.gate),
        minutes=minutes(exercise.minutes),
        orders=orders_of(kb, conclusion),
        last=move_says(kb, moved) if moved and not hint else "",
        results=_results(kb, opened),
        told=(noted,) if noted else _told(kb, told) if told and opened.lesson.aided and not hint else (),
        hint=hint,
        answers=_answers(kb, exercise),
        strips=proved_of(kb, exercise, conclusion),
        offered=offered_of(kb, conclusion, exercise, words),
        wrote=exercise.wrote,
        owed=kb.causes[session.pending.cause].proof if session.pending else "",
        proved=tuple((item.id, item.says) for item in items),
    )


def _answers(kb: KnowledgeBase, exercise: Exercise) -> tuple[tuple[str, str], ...]:
    role = exercise.session.setup.role
    given = exercise.session.given
    return tuple((kb.checks[a.check].ask, answer_says(kb.checks[a.check], a, role)) for a in given)


def _results(kb: KnowledgeBase, opened: OpenedExercise) -> tuple[tuple[str, str], ...]:
    """What the last move showed: answers that are new, or what the proof said."""
    if len(opened.stages) < 2:
        return ()
    return tuple((shown.asked, shown.said) for shown in shown_of(kb, *opened.stages[-2:]))


def _told(kb: KnowledgeBase, feedback: coach.Feedback) -> tuple[str, ...]:
    """What the coach says after a move."""
    told = told_of(kb, feedback)
    return (*told.says, *filter(None, [told.counter]), *told.slips)
