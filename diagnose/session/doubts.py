"""Which answers do not fit the rest, and which of them is cheapest to look at again.

For each scored answer: given all the others, how probable is it that this one was wrong? With s the chance of
a wrong answer, K states and p the probability the others give to the state that was answered,

    P(wrong | all answers) = s/(K-1) (1 - p) / [ (1-s) p + s/(K-1) (1 - p) ]

The others' belief is the present one divided by this answer's likelihood, which is never 0 because s > 0.
"""

from dataclasses import dataclass

from diagnose.core.posterior import Belief, evidence_weight, likelihood
from diagnose.core.reason import Conclusion, slip_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Observation

LOOK_AGAIN_AT = 0.3


@dataclass(frozen=True, slots=True)
class Doubt:
    """A scored answer with the probability that it is wrong; `minutes` is what looking again costs."""

    check: str
    state: str
    wrong: float
    minutes: float


def doubts(kb: KnowledgeBase, conclusion: Conclusion) -> list[Doubt]:
    """Every scored answer, most doubtful first."""
    found = [_doubt(kb, conclusion.belief, o) for o in conclusion.observations]
    return sorted((d for d in found if d.check), key=lambda d: (-d.wrong, d.check))


def look_again(kb: KnowledgeBase, conclusion: Conclusion) -> Doubt | None:
    """The cheapest of the answers that are doubtful enough to be looked at again, if there is one."""
    worth = [d for d in doubts(kb, conclusion) if d.wrong >= LOOK_AGAIN_AT]
    return min(worth, key=lambda d: (d.minutes, d.check), default=None)


def _doubt(kb: KnowledgeBase, belief: Belief, seen: Observation) -> Doubt:
    table, slip = belief.network.tables[seen.finding], slip_of(kb.settings, seen)
    others = belief.weights / likelihood(table, evidence_weight(table, seen.state, slip))
    others = others / (others.sum() / 2.0)
    p = float((others * likelihood(table, evidence_weight(table, seen.state, 0.0))).sum() / 2.0)
    other = slip / (len(table.states) - 1) * (1.0 - p)
    wrong = other / ((1.0 - slip) * p + other)
    check = kb.checks.get(kb.findings[seen.finding].check)
    return Doubt(check.id if check else "", seen.state, wrong, check.minutes if check else 0.0)
