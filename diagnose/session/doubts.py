"""Which answers do not fit the rest, and which of them is cheapest to look at again.

For each scored answer: given all the others, how probable is it that this one was wrong? With s the chance of
a wrong answer, K states and p the probability the others give to the state that was answered,

    P(wrong | all answers) = s/(K-1) (1 - p) / [ (1-s) p + s/(K-1) (1 - p) ]

The others' belief is the present one divided by this answer's likelihood, which is never 0 because s > 0.

All answers together can fit badly although none of them is very doubtful alone: `unfitting` says so.
"""

from collections.abc import Collection
from dataclasses import dataclass

from diagnose.core.course import evidence_weight
from diagnose.core.findings import slip_of
from diagnose.core.posterior import Belief, by_groups, gathered
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Observation

LOOK_AGAIN_AT = 0.5  # more likely wrong than right
MOST_NAMED = 3  # answers named when all together fit badly


@dataclass(frozen=True, slots=True)
class DoubtedAnswer:
    """A scored answer with the probability that it is wrong; `minutes` is what looking again costs.

    `better`: the state that the other answers fit best.
    """

    check: str
    state: str
    wrong: float
    minutes: float
    better: str


def doubts(kb: KnowledgeBase, conclusion: Conclusion, confirmed: Collection[str] = ()) -> list[DoubtedAnswer]:
    """Every answer scored since the last repair, most doubtful first; not what changed, or did not, with a repair,
    nor what was `confirmed`."""
    new = (o for o in conclusion.observations if o.finding not in conclusion.heard)
    found = [_doubt(kb, conclusion.belief, o) for o in new]
    return sorted((d for d in found if d.check and d.check not in confirmed), key=lambda d: (-d.wrong, d.check))


def look_again(kb: KnowledgeBase, conclusion: Conclusion, confirmed: Collection[str] = ()) -> DoubtedAnswer | None:
    """The cheapest of the answers that are more likely wrong than right, if there is one."""
    worth = [d for d in doubts(kb, conclusion, confirmed) if d.wrong >= LOOK_AGAIN_AT]
    return min(worth, key=lambda d: (d.minutes, d.check), default=None)


def unfitting(kb: KnowledgeBase, conclusion: Conclusion, confirmed: Collection[str] = ()) -> list[DoubtedAnswer]:
    """The answers to check again, most doubtful first, when all together fit badly; empty while they fit."""
    if conclusion.misfit < kb.settings.misfit_at:
        return []
    return doubts(kb, conclusion, confirmed)[:MOST_NAMED]


def predicted(kb: KnowledgeBase, belief: Belief, seen: Observation, slip: float) -> dict[str, float]:
    """State -> P(this finding shows it | all the other answers), answers being wrong with chance `slip`."""
    table = belief.network.tables[seen.finding]
    own = evidence_weight(table, seen.state, slip_of(kb.settings, seen))
    others = gathered(table, belief.weights) * by_groups(table, own) ** -belief.network.temper
    wanted = {s: by_groups(table, evidence_weight(table, s, slip)) for s in table.states}
    return {state: float((others * each).sum() / others.sum()) for state, each in wanted.items()}


def _doubt(kb: KnowledgeBase, belief: Belief, seen: Observation) -> DoubtedAnswer:
    slip = slip_of(kb.settings, seen)
    chances = predicted(kb, belief, seen, 0.0)
    p = chances[seen.state]
    other = slip / (len(chances) - 1) * (1.0 - p)
    wrong = other / ((1.0 - slip) * p + other)
    check = kb.checks.get(kb.findings[seen.finding].check)
    better = max(chances, key=chances.__getitem__)
    return DoubtedAnswer(check.id if check else "", seen.state, wrong, check.minutes if check else 0.0, better)
