"""Fitting the one number that tempers: the power of the likelihoods that serves best on cases set aside for it.

Log score (Good 1952): -log2 of the chance given to the truth, over the answers that each visit gave before its first
remedy. The answers stay those that the tool asked for with its present power; only what is made of them varies.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.cases.model import FieldCase
from diagnose.cases.play import CasePlayer
from diagnose.cases.result import before_remedy, true_causes
from diagnose.cases.ways import TOOL, WAYS
from diagnose.core.posterior import Belief, chance_of
from diagnose.core.reason import Conclusion, Reasoner, retraced
from diagnose.measure.figures import Mean, mean

GRID = tuple(round(float(x), 2) for x in np.arange(0.2, 1.31, 0.05))
LEAST = 1e-6


@dataclass(frozen=True, slots=True)
class Tempered:
    """One power: the log score, and what the leader was stated with against how often it was right."""

    temper: float
    score: Mean
    stated: float
    right: float


@dataclass(frozen=True, slots=True)
class Gathered:
    """What one visit found out, and the truth."""

    conclusion: Conclusion
    truth: tuple[str, ...]


def gathered(reasoner: Reasoner, cases: Sequence[FieldCase], seed: int) -> Iterator[Gathered]:
    """Plays the cases. Those whose fault has no entry are left out: no power helps them."""
    for case in cases:
        truth = tuple(true_causes(reasoner.at(case.named).kb, case))
        if truth:
            played = CasePlayer(reasoner, case, seed, WAYS[TOOL](reasoner.kb.settings.conclude_at)).play()
            yield Gathered(played.parts[before_remedy(played)].conclusion, truth)


def scores(reasoner: Reasoner, visits: Sequence[Gathered]) -> list[Tempered]:
    """Every power of the grid over the same answers."""
    return [_score(reasoner, visits, temper) for temper in GRID]


def best(found: Sequence[Tempered]) -> Tempered:
    return min(found, key=lambda t: t.score.value)


def _score(reasoner: Reasoner, visits: Sequence[Gathered], temper: float) -> Tempered:
    beliefs = [(_belief(reasoner, v.conclusion, temper), v.truth) for v in visits]
    leaders = [(belief.ranked()[0], truth) for belief, truth in beliefs]
    return Tempered(
        temper,
        mean(-float(np.log2(max(chance_of(b, truth), LEAST))) for b, truth in beliefs),
        float(np.mean([p for (_, p), _ in leaders])),
        float(np.mean([cause in truth for (cause, _), truth in leaders])),
    )


def _belief(reasoner: Reasoner, conclusion: Conclusion, temper: float) -> Belief:
    start = replace(conclusion.start, network=replace(conclusion.start.network, temper=temper))
    return deque(retraced(reasoner.kb, start, conclusion), maxlen=1)[0]
