"""Which true answers counted against the truth, and how often the tables themselves say that this happens.

Weights are Good's (1950): ten times the decimal logarithm of the change in odds, here of 'some true cause is there'.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from diagnose.core.course import evidence_weight
from diagnose.core.findings import slip_of
from diagnose.core.network import FindingTable
from diagnose.core.posterior import Belief, chance_of, untempered, update
from diagnose.core.reason import Conclusion, retraced
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Observation

LEAST = 3.0  # tenths of a decade: an answer that halves the odds
CERTAIN = 0.99
_TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Against:
    """A true answer that counted against the truth. `certain`: a table of a true cause all but ruled it out."""

    cause: str
    finding: str
    state: str
    decibans: float
    certain: bool


def against_truth(kb: KnowledgeBase, conclusion: Conclusion, truth: Sequence[str]) -> list[Against]:
    """Every observation of a visit that counted against the true causes by more than LEAST, strongest first."""
    steps = zip(conclusion.observations, pairwise(_beliefs(kb, conclusion)), strict=True)
    found = [_against(seen, before, after, truth) for seen, (before, after) in steps]
    return sorted((a for a in found if a.decibans < -LEAST), key=lambda a: a.decibans)


def expected_against(kb: KnowledgeBase, conclusion: Conclusion, truth: Sequence[str]) -> float:
    """How many such answers the tables predict for these checks, were the gate as they say."""
    steps = zip(conclusion.observations, _beliefs(kb, conclusion), strict=False)
    return sum(_chance_against(kb, seen, before, truth) for seen, before in steps)


def _beliefs(kb: KnowledgeBase, conclusion: Conclusion) -> Iterator[Belief]:
    return retraced(kb, conclusion.start, conclusion)


def _against(seen: Observation, before: Belief, after: Belief, truth: Sequence[str]) -> Against:
    table = before.network.tables[seen.finding]
    at = table.states.index(seen.state)
    worst = max(truth, key=lambda c: 1.0 - _share(before, table, c)[at], default="")
    certain = bool(worst) and _share(before, table, worst)[at] <= 1.0 - CERTAIN
    return Against(worst, seen.finding, seen.state, _weight(before, after, truth), certain)


def _share(belief: Belief, table: FindingTable, cause: str) -> Sequence[float]:
    """P(state | this cause alone), over the states."""
    return [float(x) for x in belief.network.shown_by(table, cause)]


def _weight(before: Belief, after: Belief, truth: Sequence[str]) -> float:
    return _level(chance_of(after, truth)) - _level(chance_of(before, truth))


def _level(p: float) -> float:
    p = min(max(p, _TINY), 1.0 - _TINY)
    return 10.0 * math.log10(p / (1.0 - p))


def _chance_against(kb: KnowledgeBase, seen: Observation, before: Belief, truth: Sequence[str]) -> float:
    if chance_of(before, truth) <= _TINY:
        return 0.0
    return sum(share for share, weight in _outcomes(kb, seen, before, truth) if weight < -LEAST)


def _outcomes(
    kb: KnowledgeBase, seen: Observation, before: Belief, truth: Sequence[str]
) -> Iterator[tuple[float, float]]:
    """For every state: (P(state | some true cause), its weight)."""
    table, face_value = before.network.tables[seen.finding], untempered(before)
    there = chance_of(before, truth)
    for state in table.states:
        weight = evidence_weight(table, state, slip_of(kb.settings, seen))
        shown = update(face_value, table, weight)
        chance = math.exp(shown.log_evidence - before.log_evidence) * chance_of(shown, truth) / there
        yield chance, _weight(before, update(before, table, weight), truth)
