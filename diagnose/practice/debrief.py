"""After the exercise: the trainee's path beside the best policy's, what one different choice would have saved,
the score, the cautions missed and the one thing to practise next."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.practice import coach
from diagnose.practice.coach import HINT_COSTS, Feedback
from diagnose.practice.exercise import Exercise, advance, begin, best_from, best_move
from diagnose.practice.gate import Gate, false_leads
from diagnose.practice.moves import CheckMove, HintMove, Move, RepairMove
from diagnose.practice.scores import Parts, murphy

SOLVED, TIME, JUDGEMENT, CARE = 40.0, 30.0, 20.0, 10.0  # points that can be earned, together 100; judgement
SLIP_POINTS, MOST_SLIP_POINTS = 5.0, 30.0
WORST_BRIER = 0.25  # stated probabilities this far off earn nothing: as bad as 'fifty-fifty' on everything
MOST_TRIED = 8  # choices tried otherwise, to keep the wait short
NOTICEABLE_MINUTES = 1.0


@dataclass(frozen=True, slots=True)
class PathStep:
    """One move of a path: minutes it took, bits it told."""

    move: Move
    minutes: float
    bits: float


@dataclass(frozen=True, slots=True)
class Otherwise:
    """Choosing `instead` at move `number` (from 0) would have saved these minutes at this very gate."""

    number: int
    instead: Move
    saves: float


@dataclass(frozen=True, slots=True)
class Debrief:
    """`parts` are the points earned and lost, by an id; they add up to the score before it is cut to 0..100.

    `false_leads`: (finding, state) that were seen although no hidden cause brings them. `truth_parts`: Murphy's
    parts of the Brier score of everything stated against what the gate really had; None when nothing was stated.
    """

    score: float
    parts: dict[str, float]
    own: tuple[PathStep, ...]
    best: tuple[PathStep, ...]
    best_ended: str
    otherwise: Otherwise | None
    missed: tuple[str, ...]
    slips: Counter[str]
    brier: float | None
    truth_brier: float | None
    truth_parts: Parts | None
    false_leads: tuple[tuple[str, str], ...]
    practise: str

    @property
    def minutes(self) -> float:
        return sum(line.minutes for line in self.own)

    @property
    def best_minutes(self) -> float:
        return sum(line.minutes for line in self.best)


def debrief(reasoner: Reasoner, gate: Gate, moves: Sequence[Move]) -> Debrief:
    """`gate` as it was at the start. Raises DiagnoseError when the moves do not fit it."""
    stages = [begin(reasoner, gate)]
    for move in moves:
        stages.append(advance(reasoner, stages[-1], move))
    told = [coach.feedback(reasoner, *pair) for pair in pairwise(stages)]
    best = best_path(reasoner, gate)
    slips = Counter(s.kind for f in told for s in f.slips)
    brier = _mean([f.brier for f in told if f.brier is not None])
    parts = points(stages[-1], slips, brier, sum(line.minutes for line in best[0]))
    missed = missed_cautions(reasoner.kb, moves)
    return Debrief(
        score=0.0 if stages[-1].ended == "unsafe" else min(100.0, max(0.0, sum(parts.values()))),
        parts=parts,
        own=tuple(PathStep(m, f.minutes, f.bits) for m, f in zip(moves, told, strict=True)),
        best=best[0],
        best_ended=best[1],
        otherwise=one_choice(reasoner, stages),
        missed=missed,
        slips=slips,
        brier=brier,
        truth_brier=_mean([f.truth for f in told if f.truth is not None]),
        truth_parts=_parts(stages),
        false_leads=_false_leads(reasoner.kb, gate, told, moves),
        practise=practise_next(slips, missed, brier, parts),
    )


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _parts(stages: Sequence[Exercise]) -> Parts | None:
    """Over every cause stated at every move, against what was wrong at that moment."""
    said = [
        (p, float(cause in before.gate.truth))
        for before, after in pairwise(stages)
        if isinstance(move := after.done[-1].move, CheckMove | RepairMove)
        for cause, p in move.beliefs
    ]
    return murphy([p for p, _ in said], [y for _, y in said]) if said else None


def _false_leads(
    kb: KnowledgeBase, gate: Gate, told: Sequence[Feedback], moves: Sequence[Move]
) -> tuple[tuple[str, str], ...]:
    leads = false_leads(kb, gate)
    looks = (
        (kb.checks[m.check].finding, f.found) for m, f in zip(moves, told, strict=True) if isinstance(m, CheckMove)
    )
    return tuple(
        dict.fromkeys((finding.id, state) for finding, state in looks if finding and state and finding.id in leads)
    )


def best_path(reasoner: Reasoner, gate: Gate) -> tuple[tuple[PathStep, ...], str]:
    """The best policy's way through the gate, and how it ended."""
    stage, lines = begin(reasoner, gate), list[PathStep]()
    whole = best_from(reasoner, stage)
    for done in whole.done:
        if whole.ended == "specialist" and done is whole.done[-1]:
            lines.append(PathStep(done.move, done.minutes, 0.0))
            break
        following = advance(reasoner, stage, done.move)
        lines.append(PathStep(done.move, done.minutes, bits_of(reasoner, stage, following)))
        stage = following
    return tuple(lines), whole.ended or "mended"


def bits_of(reasoner: Reasoner, before: Exercise, after: Exercise) -> float:
    """Bits of uncertainty about the set of causes that the move took away."""
    return coach.feedback(reasoner, before, after).bits


def points(end: Exercise, slips: Counter[str], brier: float | None, best_minutes: float) -> dict[str, float]:
    """Points earned and lost. Nothing is lost by an honest 'don't know'; unsafe work earns nothing at all."""
    solved = not end.gate.truth
    judged = 0.0 if brier is None else max(0.0, 1.0 - brier / WORST_BRIER)
    careful = solved and not {"no_proof", "two_things", "unsafe"} & set(slips)
    return {
        "solved": SOLVED if solved else 0.0,
        "time": TIME * min(1.0, best_minutes / max(end.minutes, 1.0)) if solved else 0.0,
        "beliefs": JUDGEMENT * judged,
        "care": CARE if careful else 0.0,
        "hints": 0.0 - hint_points(end),
        "slips": 0.0 - min(MOST_SLIP_POINTS, SLIP_POINTS * sum(slips.values())),
    }


def hint_points(end: Exercise) -> float:
    """What the hints cost: each further one before the next check is dearer."""
    spent, row = 0.0, 0
    for done in end.done:
        row = row + 1 if isinstance(done.move, HintMove) else 0
        spent += HINT_COSTS[min(row, len(HINT_COSTS)) - 1] if row else 0.0
    return spent


def one_choice(reasoner: Reasoner, stages: Sequence[Exercise]) -> Otherwise | None:
    """The one choice whose replacement, worked on by the best policy, would have saved most at this gate.

    Saved = (minutes of the move made + best policy after it) - best policy from before it.
    """
    found = list[Otherwise]()
    for number, (before, after) in enumerate(pairwise(stages)):
        move, instead = after.done[-1].move, best_move(reasoner, before)
        if not isinstance(move, CheckMove | RepairMove) or instead is None or _same(move, instead) or after.ended:
            continue
        saved = best_from(reasoner, after).minutes - best_from(reasoner, before).minutes
        found.append(Otherwise(number, instead, saved))
        if len(found) == MOST_TRIED:
            break
    best = max(found, key=lambda o: o.saves, default=None)
    return best if best and best.saves >= NOTICEABLE_MINUTES else None


def _same(one: Move, other: Move) -> bool:
    if isinstance(one, CheckMove) and isinstance(other, CheckMove):
        return one.check == other.check
    return isinstance(one, RepairMove) and isinstance(other, RepairMove) and one.causes == other.causes


def missed_cautions(kb: KnowledgeBase, moves: Sequence[Move]) -> tuple[str, ...]:
    """Cautions of work that was begun without preparing for it."""
    found = dict[str, None]()
    for move in moves:
        if isinstance(move, CheckMove) and not move.prepared:
            found |= dict.fromkeys(cautions_for(kb, kb.checks[move.check]))
        elif isinstance(move, RepairMove) and not move.prepared:
            found |= dict.fromkeys(c for cause in move.causes for c in remedy_cautions(kb, kb.causes[cause]))
    return tuple(found)


def practise_next(slips: Counter[str], missed: Sequence[str], brier: float | None, parts: dict[str, float]) -> str:
    """An unsafe step, else the slip made most, else missing statements or cautions, else a harder lesson."""
    if slips.get("unsafe"):
        return "unsafe"
    if slips:
        return max(sorted(slips), key=slips.__getitem__)
    if brier is None:
        return "say_beliefs"
    if missed:
        return "cautions"
    return "calibration" if parts["beliefs"] < JUDGEMENT / 2 else "harder"
