"""Whether stated probabilities come true: reliability curve, expected calibration error, Brier score.

Brier 1950 (mean square of stated minus happened, binary form); expected calibration error over equal-mass bins
(Naeini et al. 2015; Guo et al. 2017): mean over bins, weighted by count, of |mean stated - share come true|.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.core.network import Floats

BINS = 10
_REDRAWN = 200


@dataclass(frozen=True, slots=True)
class Bin:
    """`said` mean stated probability, `right` share that came true, over `count` visits."""

    said: float
    right: float
    count: int

    @property
    def margin(self) -> float:
        """Half the 95 % interval of `right` were `said` true (normal approximation)."""
        return 1.96 * float(np.sqrt(self.said * (1.0 - self.said) / self.count))


@dataclass(frozen=True, slots=True)
class Calibration:
    """`error` expected calibration error; `by_chance` what a perfectly calibrated tool shows at this many visits.

    `brier` against `brier_expected`, the mean of p (1 - p): equal on average when what is stated is true.
    `surplus` is mean stated minus share come true, `standard_error` its standard error were what is stated true.
    """

    bins: tuple[Bin, ...]
    error: float
    by_chance: float
    brier: float
    brier_expected: float
    brier_margin: float
    surplus: float
    standard_error: float

    @property
    def consistent(self) -> bool:
        """Mean stated and share come true within 3 standard errors."""
        return abs(self.surplus) <= 3.0 * self.standard_error


def reliability(said: Sequence[float], right: Sequence[bool], bins: int = BINS) -> tuple[Bin, ...]:
    """Equal-mass bins in order of what was stated; fewer when there are fewer visits than bins."""
    order = np.argsort(said, kind="stable")
    p, y = np.array(said, dtype=float), np.array(right, dtype=float)
    parts = (i for i in np.array_split(order, bins) if len(i))
    return tuple(Bin(float(p[i].mean()), float(y[i].mean()), len(i)) for i in parts)


def calibration_error(said: Sequence[float], right: Sequence[bool], bins: int = BINS) -> float:
    """Expected calibration error over equal-mass bins."""
    found = reliability(said, right, bins)
    return sum(b.count * abs(b.said - b.right) for b in found) / len(said)


def calibration(said: Sequence[float], right: Sequence[bool]) -> Calibration:
    """Everything about one list of stated probabilities and what happened."""
    p, y = np.array(said, dtype=float), np.array(right, dtype=float)
    variance = p * (1.0 - p)
    # var of (p - y)^2 when y happens with probability p: (1 - 2p)^2 p (1 - p)
    brier_sd = np.sqrt(np.sum((1.0 - 2.0 * p) ** 2 * variance)) / len(p)
    return Calibration(
        bins=reliability(said, right),
        error=calibration_error(said, right),
        by_chance=_by_chance(p),
        brier=float(np.mean((p - y) ** 2)),
        brier_expected=float(variance.mean()),
        brier_margin=float(1.96 * brier_sd),
        surplus=float(p.mean() - y.mean()),
        standard_error=float(np.sqrt(variance.sum()) / len(p)),
    )


def _by_chance(p: Floats) -> float:
    """The mean error when every statement is true, over a fixed set of redrawn outcomes."""
    said = np.sort(p)
    came_true = np.random.default_rng(1).random((_REDRAWN, len(said))) < said
    parts = (i for i in np.array_split(np.arange(len(said)), BINS) if len(i))
    return float(np.mean(sum(abs(np.sum(said[i] - came_true[:, i], axis=1)) for i in parts)) / len(said))
