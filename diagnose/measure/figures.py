"""Many simulated visits -> the figures that say how good the tool would be if its knowledge were right."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.measure.calibration import Calibration, calibration
from diagnose.measure.simulate import SimulatedVisit


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean with half its 95 % interval (normal approximation). nan over nothing."""

    value: float
    margin: float
    count: int


@dataclass(frozen=True, slots=True)
class Figures:
    """Means over visits. `first`/`first_three`: every true cause that far up; `listed_*`: the same over single
    faults that are on the list; `both_in_three`: two faults, both among the first three; `first_of_pairs`: one of
    two faults leads; `least_checks`: bits gained over the most a single answer of twelve can tell.
    """

    cases: int
    first: Mean
    first_three: Mean
    listed_first: Mean
    listed_three: Mean
    both_in_three: Mean
    first_of_pairs: Mean
    checks: Mean
    most_checks: float  # 95th percentile
    check_minutes: Mean
    minutes: Mean
    calibration: Calibration
    least_checks: float


def figures(outcomes: Sequence[SimulatedVisit], outside: str = "something_else") -> Figures:
    """Summarise at least one outcome. Calibration is of the leading cause: named first with p, and there or not."""
    pairs = [o for o in outcomes if len(o.case.truth) == 2]
    listed = [o for o in outcomes if len(o.case.truth) == 1 and o.case.truth[0] != outside]
    return Figures(
        cases=len(outcomes),
        first=mean(o.first() for o in outcomes),
        first_three=mean(o.first(3) for o in outcomes),
        listed_first=mean(o.first() for o in listed),
        listed_three=mean(o.first(3) for o in listed),
        both_in_three=mean(o.first(3) for o in pairs),
        first_of_pairs=mean(o.case.truth.count(o.ranked[0][0]) for o in pairs),
        checks=mean(len(o.asked) for o in outcomes),
        most_checks=float(np.quantile([len(o.asked) for o in outcomes], 0.95)),
        check_minutes=mean(o.check_minutes for o in outcomes),
        minutes=mean(o.minutes for o in outcomes),
        calibration=calibration(
            [o.ranked[0][1] for o in outcomes], [o.ranked[0][0] in o.case.truth for o in outcomes]
        ),
        least_checks=mean(o.bits for o in outcomes).value / float(np.log2(12)),
    )


def mean(values: Iterable[float]) -> Mean:
    kept = np.array(list(values), dtype=float)
    if not len(kept):
        return Mean(float("nan"), float("nan"), 0)
    spread = float(kept.std(ddof=1)) if len(kept) > 1 else 0.0
    return Mean(float(kept.mean()), 1.96 * spread / float(np.sqrt(len(kept))), len(kept))


def difference(these: Sequence[float], those: Sequence[float]) -> Mean:
    """Mean of these minus those, visit by visit: the same faults are met, so their spread cancels."""
    return mean(a - b for a, b in zip(these, those, strict=True))


def confusions(outcomes: Sequence[SimulatedVisit], most: int = 10) -> list[tuple[tuple[str, str], int]]:
    """(true cause, cause put first instead) with how often, single faults only."""
    wrong = [(o.case.truth[0], o.ranked[0][0]) for o in outcomes if len(o.case.truth) == 1 and not o.first()]
    return Counter(wrong).most_common(most)
