"""Many simulated visits -> the figures that say how good the tool would be if its knowledge were right."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import repeat

import numpy as np

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.measure.policies import POLICIES
from diagnose.measure.simulate import Outcome, draw_case, work
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup


@dataclass(frozen=True, slots=True)
class Figures:
    """Means over visits. `first`/`first_three`: every true cause that far up; `listed_*`: the same over single
    faults that are on the list; `first_of_pairs`: one of two faults leads; `calibration_error` is of the leader.
    """

    cases: int
    first: float
    first_three: float
    listed_first: float
    listed_three: float
    first_of_pairs: float
    checks: float
    check_minutes: float
    minutes: float
    calibration_error: float
    least_checks: float


_WORKER: dict[str, Reasoner] = {}


def _start_worker(kb: KnowledgeBase) -> None:
    _WORKER["reasoner"] = Reasoner(kb, partial(fixpoint, kb))


def _one(seed: int, setup: Setup, policy: str) -> Outcome:
    reasoner, rng = _WORKER["reasoner"], np.random.default_rng(seed)
    case = draw_case(reasoner.network(setup.devices), reasoner.kb, rng)
    return work(reasoner, case, setup, POLICIES[policy], rng)


def run(
    kb: KnowledgeBase, setup: Setup, policy: str, cases: int, seed: int = 1, processes: int = 1
) -> Iterator[Outcome]:
    """Outcomes of `cases` visits, reproducible from the seed; every policy meets the same hidden faults."""
    seeds = range(seed * 1_000_000, seed * 1_000_000 + cases)
    with ProcessPoolExecutor(processes, initializer=_start_worker, initargs=(kb,)) as pool:
        yield from pool.map(_one, seeds, repeat(setup), repeat(policy), chunksize=4)


def figures(outcomes: Sequence[Outcome], outside: str = "something_else") -> Figures:
    """Summarise outcomes. `least_checks`: bits gained over the most a single answer of twelve can tell."""
    pairs = [o for o in outcomes if len(o.case.truth) == 2]
    listed = [o for o in outcomes if len(o.case.truth) == 1 and o.case.truth[0] != outside]
    bits = _mean(o.bits for o in outcomes)
    return Figures(
        cases=len(outcomes),
        first=_mean(o.first() for o in outcomes),
        first_three=_mean(o.first(3) for o in outcomes),
        listed_first=_mean(o.first() for o in listed),
        listed_three=_mean(o.first(3) for o in listed),
        first_of_pairs=_mean(o.case.truth.count(o.ranked[0][0]) for o in pairs),
        checks=_mean(len(o.checks) for o in outcomes),
        check_minutes=_mean(o.check_minutes for o in outcomes),
        minutes=_mean(o.minutes for o in outcomes),
        calibration_error=calibration_error(
            [o.ranked[0][1] for o in outcomes], [o.ranked[0][0] in o.case.truth for o in outcomes]
        ),
        least_checks=bits / float(np.log2(12)),
    )


def _mean(values: Iterable[float]) -> float:
    kept = list(values)
    return float(np.mean(kept)) if kept else float("nan")


def calibration_error(said: Sequence[float], right: Sequence[bool], bins: int = 10) -> float:
    """Expected calibration error over equal-mass bins (Naeini et al. 2015): mean |said - right| per bin."""
    order = np.argsort(said)
    parts = [p for p in np.array_split(order, bins) if len(p)]
    p, y = np.array(said, dtype=float), np.array(right, dtype=float)
    return float(sum(len(i) * abs(p[i].mean() - y[i].mean()) for i in parts) / len(p))


def confusions(outcomes: Sequence[Outcome], most: int = 10) -> list[tuple[tuple[str, str], int]]:
    """(true cause, cause put first instead) with how often, single faults only."""
    wrong = [(o.case.truth[0], o.ranked[0][0]) for o in outcomes if len(o.case.truth) == 1 and not o.first()]
    return Counter(wrong).most_common(most)
