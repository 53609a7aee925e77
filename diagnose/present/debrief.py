"""What came of an exercise: both ways through the gate, the points, what to practise next."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.practice.debrief import Debrief, Otherwise, PathStep
from diagnose.practice.exercise import Exercise
from diagnose.practice.moves import CheckMove
from diagnose.practice.remarks import Remark
from diagnose.practice.wording import ended_says, move_says, parting, practise_says, slip_says
from diagnose.present.figures import minutes, rounded
from diagnose.present.reasons import seen_says
from diagnose.present.strip import Strip, known_of
from diagnose.session.session import conclude
from diagnose.session.wording import answer_says
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class WayStep:
    """One step of a way: what was done, how long it took, what it showed ('' for nothing)."""

    says: str
    minutes: str
    found: str


@dataclass(frozen=True, slots=True)
class SaidSlip:
    """A slip explained: when, what was done, what was known then ('' for nothing), what to do instead."""

    moment: str
    says: str
    reading: str
    instead: str


@dataclass(frozen=True, slots=True)
class Review:
    """The debrief. `verdict` says whether it is passed, and why not; `truth`: what was wrong, (cause, what it is);
    `points`: (for what, how many). `strips`: how the answers leave the signal chain. `part_at` counts steps from 1, 0
    where no ways part. `slips`: each with its moment, the reading and what to do instead."""

    ended: str
    verdict: str
    danger: str
    happened: str
    truth: tuple[tuple[str, str], ...]
    false_leads: tuple[str, ...]
    strips: tuple[Strip, ...]
    own: tuple[WayStep, ...]
    own_minutes: str
    best: tuple[WayStep, ...]
    best_minutes: str
    best_ended: str
    part_at: int
    otherwise: str
    missed: tuple[str, ...]
    score: float
    points: tuple[tuple[str, float], ...]
    judged: tuple[str, ...]
    slips: tuple[SaidSlip, ...]
    practise: str


def review_of(reasoner: Reasoner, truth: Sequence[str], end: Exercise, seen: Debrief) -> Review:
    """`truth` are the causes hidden at the start."""
    kb, parted = reasoner.kb, parting(seen)
    return Review(
        ended=ended_says(end.ended),
        verdict=_verdict(seen),
        danger=end.danger.says if end.danger else "",
        happened=end.danger.happened if end.danger else "",
        truth=tuple((kb.causes[c].says, kb.causes[c].explain) for c in truth),
        false_leads=tuple(seen_says(kb, f, s) for f, s in seen.false_leads),
        strips=known_of(kb, end.session, conclude(reasoner, end.session)),
        own=_way(kb, seen.own),
        own_minutes=minutes(seen.minutes),
        best=_way(kb, seen.best),
        best_minutes=minutes(seen.best_minutes),
        best_ended=ended_says(seen.best_ended),
        part_at=0 if parted is None else parted + 1,
        otherwise=_otherwise(kb, seen.otherwise) if seen.otherwise else "",
        missed=tuple(kb.cautions[c].says for c in seen.missed),
        score=seen.score,
        points=tuple((say(f"practice.points_{name}"), value) for name, value in seen.parts.items()),
        judged=_judged(seen),
        slips=tuple(_slip(remark) for remark in seen.remarks),
        practise=practise_says(seen.practise),
    )


def slips_says(kind: str, times: int) -> str:
    """A slip with how often it was made."""
    return say("practice.slips", kind=slip_says(kind), times=times)


def _verdict(seen: Debrief) -> str:
    if seen.lucky:
        return say("practice.luck", step=seen.lucky[0] + 1)
    return say("practice.passed") if seen.passed else say("practice.failed")


def _slip(remark: Remark) -> SaidSlip:
    return SaidSlip(
        moment=say("practice.slip_moment", step=remark.number + 1, minutes=minutes(remark.minutes)),
        says=say("practice.slip", kind=slip_says(remark.slip.kind), says=remark.slip.says),
        reading=say("practice.slip_reading", reading=remark.reading) if remark.reading else "",
        instead=say("practice.slip_instead", instead=remark.instead),
    )


def _way(kb: KnowledgeBase, lines: Sequence[PathStep]) -> tuple[WayStep, ...]:
    return tuple(WayStep(move_says(kb, line.move), minutes(line.minutes), _found(kb, line)) for line in lines)


def _found(kb: KnowledgeBase, line: PathStep) -> str:
    if line.found is None or not isinstance(line.move, CheckMove):
        return ""
    return answer_says(kb.checks[line.move.check], Answer(line.move.check, line.found), "technician")


def _otherwise(kb: KnowledgeBase, other: Otherwise) -> str:
    saved = rounded(other.saves)
    return say("practice.otherwise", step=other.number + 1, move=move_says(kb, other.instead), saved=saved)


def _judged(seen: Debrief) -> tuple[str, ...]:
    said = []
    if seen.splits[1]:
        said.append(say("practice.split_score", well=seen.splits[0], n=seen.splits[1]))
    if seen.held[0]:
        said.append(say("practice.held_right", n=seen.held[0], right=seen.held[1]))
    return tuple(said)
