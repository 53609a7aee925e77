"""What came of an exercise: both ways through the gate, the points, what to practise next."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.debrief import Debrief, Otherwise, PathStep
from diagnose.practice.exercise import Exercise
from diagnose.practice.wording import ended_says, move_says, parting, practise_says, slip_says
from diagnose.present.figures import minutes, rounded
from diagnose.present.reasons import seen_says
from diagnose.present.strip import Strip, known_of
from diagnose.session.session import conclude
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Review:
    """The debrief. `truth`: what was wrong, (cause, what it is); a way is (move, minutes); `points`: (for what, how
    many). `strips`: how the answers leave the signal chain. `part_at` counts steps from 1, 0 where no ways part."""

    ended: str
    danger: str
    truth: tuple[tuple[str, str], ...]
    false_leads: tuple[str, ...]
    strips: tuple[Strip, ...]
    own: tuple[tuple[str, str], ...]
    own_minutes: str
    best: tuple[tuple[str, str], ...]
    best_minutes: str
    best_ended: str
    part_at: int
    otherwise: str
    missed: tuple[str, ...]
    score: float
    points: tuple[tuple[str, float], ...]
    judged: tuple[str, ...]
    slips: tuple[str, ...]
    practise: str


def review_of(reasoner: Reasoner, truth: Sequence[str], end: Exercise, seen: Debrief) -> Review:
    """`truth` are the causes hidden at the start."""
    kb, parted = reasoner.kb, parting(seen)
    return Review(
        ended=ended_says(end.ended),
        danger=end.danger.says if end.danger else "",
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
        slips=tuple(slips_says(kind, count) for kind, count in seen.slips.most_common()),
        practise=practise_says(seen.practise),
    )


def slips_says(kind: str, times: int) -> str:
    """A slip with how often it was made."""
    return say("practice.slips", kind=slip_says(kind), times=times)


def _way(kb: KnowledgeBase, lines: Sequence[PathStep]) -> tuple[tuple[str, str], ...]:
    return tuple((move_says(kb, line.move), minutes(line.minutes)) for line in lines)


def _otherwise(kb: KnowledgeBase, other: Otherwise) -> str:
    saved = rounded(other.saves)
    return say("practice.otherwise", step=other.number + 1, move=move_says(kb, other.instead), saved=saved)


def _judged(seen: Debrief) -> tuple[str, ...]:
    said = []
    if seen.brier is not None:
        said.append(say("practice.all_shares_off", off=f"{seen.brier:.3f}"))
    if seen.truth_brier is not None:
        said.append(say("practice.truth_off", off=f"{seen.truth_brier:.3f}"))
    if parts := seen.truth_parts:
        lost, gained = f"{parts.reliability:.3f}", f"{parts.resolution:.3f}"
        said.append(say("practice.truth_parts", lost=lost, gained=gained))
    return tuple(said)
