"""After the exercise: the trainee's path beside the best policy's, what one different choice would have saved,
the score, the cautions missed and the one thing to practise next."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.model.visit import Value
from diagnose.practice import coach
from diagnose.practice.coach import Feedback
from diagnose.practice.exercise import Exercise, advance, begin, best_from, best_move
from diagnose.practice.gate import Gate, false_leads
from diagnose.practice.moves import CheckMove, Move, RepairMove
from diagnose.practice.remarks import Remark, lucky, remark_of
from diagnose.practice.slips import Scene
from diagnose.session.session import conclude

SOLVED, TIME, JUDGEMENT, SPLITS, CARE = 40.0, 30.0, 10.0, 10.0, 10.0  # points to be earned, together 100; judgement
SLIP_POINTS, MOST_SLIP_POINTS = 5.0, 30.0
WORST_BRIER = 0.25  # stated probabilities this far off earn nothing: as bad as 'fifty-fifty' on everything
MOST_TRIED = 8  # choices tried otherwise, to keep the wait short
NOTICEABLE_MINUTES = 1.0
HELD = 0.5  # stated from here on, a suspect is held to be the one


@dataclass(frozen=True, slots=True)
class PathStep:
    """One move of a path: minutes it took, bits it told, what a check showed (None for no answer)."""

    move: Move
    minutes: float
    bits: float
    found: Value | None = None


@dataclass(frozen=True, slots=True)
class Otherwise:
    """Choosing `instead` at move `number` (from 0) would have saved these minutes at this very gate."""

    number: int
    instead: Move
    saves: float


@dataclass(frozen=True, slots=True)
class Debrief:
    """`parts` are the points earned and lost, by an id; they add up to the score before it is cut to 0..100.

    `false_leads`: (finding, state) that were seen although no hidden cause brings them. `lucky`: the moves, from 0,
    that mended something although nothing found made it a lead; they earn nothing. `passed`: solved, proved and put
    back, by evidence. `splits`: looks that parted the open links well, of how many. `held`: suspects stated at HELD
    or more, and how many of them were there. `brier`: distance of what was stated from what the answers allowed.
    """

    score: float
    parts: dict[str, float]
    own: tuple[PathStep, ...]
    best: tuple[PathStep, ...]
    best_ended: str
    otherwise: Otherwise | None
    missed: tuple[str, ...]
    slips: Counter[str]
    remarks: tuple[Remark, ...]
    lucky: tuple[int, ...]
    passed: bool
    splits: tuple[int, int]
    held: tuple[int, int]
    brier: float | None
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
    scenes = [_scene(reasoner, *pair) for pair in pairwise(stages)]
    luck = tuple(n for n, scene in enumerate(scenes) if lucky(scene))
    splits = [f.split.well for f in told if f.split]
    earned = Earned(not stages[-1].gate.truth and not luck, brier, (sum(splits), len(splits)))
    parts = points(stages[-1], slips, earned, sum(line.minutes for line in best[0]))
    missed = missed_cautions(reasoner.kb, moves)
    return Debrief(
        score=0.0 if stages[-1].ended == "unsafe" else min(100.0, max(0.0, sum(parts.values()))),
        parts=parts,
        own=tuple(
            PathStep(m, f.minutes, f.bits, _found(after, m))
            for m, f, after in zip(moves, told, stages[1:], strict=True)
        ),
        best=best[0],
        best_ended=best[1],
        otherwise=one_choice(reasoner, stages),
        missed=missed,
        slips=slips,
        remarks=tuple(remark_of(scene, slip) for scene, f in zip(scenes, told, strict=True) for slip in f.slips),
        lucky=luck,
        passed=stages[-1].ended == "solved" and not luck,
        splits=earned.splits,
        held=_held(stages),
        brier=brier,
        false_leads=_false_leads(reasoner.kb, gate, told, moves),
        practise="luck" if luck and not slips.get("unsafe") else practise_next(slips, missed, earned, parts),
    )


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _scene(reasoner: Reasoner, before: Exercise, after: Exercise) -> Scene:
    return Scene(reasoner.kb, before, after, conclude(reasoner, before.session), after.done[-1].move)


def _found(after: Exercise, move: Move) -> Value | None:
    """What a check showed."""
    answer = after.session.answer(move.check) if isinstance(move, CheckMove) and not after.danger else None
    return answer.value if answer else None


def _held(stages: Sequence[Exercise]) -> tuple[int, int]:
    """Of the suspects held at every move: how many, and how many were there at that moment."""
    said = [
        cause in before.gate.truth
        for before, after in pairwise(stages)
        if isinstance(move := after.done[-1].move, CheckMove | RepairMove)
        for cause, p in move.beliefs
        if p >= HELD
    ]
    return len(said), sum(said)


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
        told = bits_of(reasoner, stage, following)
        lines.append(PathStep(done.move, done.minutes, told, _found(following, done.move)))
        stage = following
    return tuple(lines), whole.ended or "mended"


def bits_of(reasoner: Reasoner, before: Exercise, after: Exercise) -> float:
    """Bits of uncertainty about the set of causes that the move took away."""
    return coach.feedback(reasoner, before, after).bits


@dataclass(frozen=True, slots=True)
class Earned:
    """`solved` by evidence, not by luck; `brier` as in Debrief; `splits`: looks that parted well, of how many."""

    solved: bool
    brier: float | None
    splits: tuple[int, int]

    @property
    def split(self) -> float:
        """Share of the looks that parted well; where nothing was to be parted, a solved gate loses nothing."""
        well, of = self.splits
        return well / of if of else float(self.solved)


def points(end: Exercise, slips: Counter[str], earned: Earned, best_minutes: float) -> dict[str, float]:
    """Points earned and lost. Nothing is lost by an honest 'don't know'; unsafe work earns nothing at all.

    Hints cost minutes, and so time.
    """
    solved = earned.solved
    judged = 0.0 if earned.brier is None else max(0.0, 1.0 - earned.brier / WORST_BRIER)
    careful = solved and not {"no_proof", "two_things", "unsafe"} & set(slips)
    return {
        "solved": SOLVED if solved else 0.0,
        "time": TIME * min(1.0, best_minutes / max(end.minutes, 1.0)) if solved else 0.0,
        "beliefs": JUDGEMENT * judged,
        "splits": SPLITS * earned.split,
        "care": CARE if careful else 0.0,
        "slips": 0.0 - min(MOST_SLIP_POINTS, SLIP_POINTS * sum(slips.values())),
    }


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


def practise_next(slips: Counter[str], missed: Sequence[str], earned: Earned, parts: dict[str, float]) -> str:
    """An unsafe step, else the slip made most, else missing statements or cautions, else a harder lesson."""
    if slips.get("unsafe"):
        return "unsafe"
    if slips:
        return max(sorted(slips), key=slips.__getitem__)
    if earned.brier is None:
        return "say_beliefs"
    if missed:
        return "cautions"
    well, of = earned.splits
    if 2 * well < of:
        return "splits"
    return "calibration" if parts["beliefs"] < JUDGEMENT / 2 else "harder"
