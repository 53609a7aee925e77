"""What each check is worth, and which cause a new check would help most."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.core.asking import repair_minutes
from diagnose.core.posterior import prior
from diagnose.core.reason import Reasoner
from diagnose.measure.figures import Mean, difference, mean
from diagnose.measure.runs import SimulationTask
from diagnose.measure.simulate import SimulatedVisit
from diagnose.model.knowledge import KnowledgeBase

NEW_CHECK_MINUTES = 5.0
FEWEST_VISITS = 5  # a cause met less often is left out of the list of causes


@dataclass(frozen=True, slots=True)
class CheckWorth:
    """Over the visits: `share` that asked it, its mean `minutes`, and what the look-ahead promised on choosing it.

    `lost` minutes per visit that asked it when it is out of reach from the start; None where that was not run.
    """

    check: str
    share: float
    minutes: float
    saves: float
    bits: float
    lost: Mean | None = None


@dataclass(frozen=True, slots=True)
class CauseNeed:
    """`wasted` minutes of a visit with this cause beyond naming it at once by a perfect check of 5 minutes and
    repairing it; `value` = probability of the cause times that: minutes per visit such a new check could save at
    most, were it asked in those visits only. `named` share of its visits in which it came first.
    """

    cause: str
    probability: float
    named: float
    wasted: Mean
    value: float


def most_asked(outcomes: Sequence[SimulatedVisit]) -> list[str]:
    """The checks that any visit asked, most often asked first; ties by id."""
    counted = Counter(c for o in outcomes for c in set(o.checks))
    return sorted(counted, key=lambda c: (-counted[c], c))


def tasks_without(
    tasks: Sequence[SimulationTask], outcomes: Sequence[SimulatedVisit], check: str
) -> list[SimulationTask]:
    """The visits that asked the check, to be run again without it; the others would go as they went.

    (Not quite: a check that was never asked can still have lent value to its neighbours behind the same cover.)
    """
    pairs = zip(tasks, outcomes, strict=True)
    return [SimulationTask(t.seed, t.setup, t.policy, t.condition, (check,)) for t, o in pairs if check in o.checks]


def check_worths(
    outcomes: Sequence[SimulatedVisit], without: Mapping[str, Sequence[SimulatedVisit]] | None = None
) -> list[CheckWorth]:
    """Every check that was asked, most often asked first. `without` holds the visits run again per check."""
    asked = defaultdict(list)
    for outcome in outcomes:
        for one in outcome.asked:
            asked[one.check].append(one)
    return [
        CheckWorth(
            check=check,
            share=sum(check in o.checks for o in outcomes) / len(outcomes),
            minutes=float(np.mean([a.minutes for a in asked[check]])),
            saves=float(np.mean([a.saves for a in asked[check]])),
            bits=float(np.mean([a.bits for a in asked[check]])),
            lost=_lost(check, outcomes, without[check]) if without and check in without else None,
        )
        for check in most_asked(outcomes)
    ]


def _lost(check: str, outcomes: Sequence[SimulatedVisit], again: Sequence[SimulatedVisit]) -> Mean:
    before = [o.minutes for o in outcomes if check in o.checks]
    return difference([o.minutes for o in again], before)


def cause_needs(reasoner: Reasoner, devices: tuple[str, ...], outcomes: Sequence[SimulatedVisit]) -> list[CauseNeed]:
    """Listed causes met in at least a few visits as the only fault, the one that would profit most first."""
    kb, belief = reasoner.kb, prior(reasoner.network(devices))
    visits = defaultdict(list)
    for outcome in outcomes:
        if len(outcome.case.truth) == 1:
            visits[outcome.case.truth[0]].append(outcome)
    needs = [
        _need(kb, cause, belief.probability(cause), visits[cause])
        for cause in belief.network.causes
        if len(visits[cause]) >= FEWEST_VISITS and cause != kb.settings.outside_cause
    ]
    return sorted(needs, key=lambda n: (-n.value, n.cause))


def _need(kb: KnowledgeBase, cause: str, probability: float, visits: Sequence[SimulatedVisit]) -> CauseNeed:
    at_once = NEW_CHECK_MINUTES + repair_minutes(kb, kb.causes[cause], frozenset())
    wasted = mean(o.minutes - at_once for o in visits)
    named = float(np.mean([o.first() for o in visits]))
    return CauseNeed(cause, probability, named, wasted, probability * wasted.value)
