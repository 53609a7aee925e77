"""Exact tests for counts, from `math.lgamma` alone; scipy is their oracle in the tests.

One two-sided rule throughout: twice the smaller one-sided p, which agrees with the interval.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import e, erfc, exp, inf, lgamma, log, log1p, sqrt

from diagnose.errors import CalculationError
from diagnose.words import say

_TINY = 1e-300


@dataclass(frozen=True, slots=True)
class RateRatio:
    """Rate one over rate two, its 95 % interval, and p: one-sided for 'more', and doubled."""

    ratio: float
    low: float
    high: float
    p_more: float
    p: float


def _fraction(term: Callable[[int], tuple[float, float]], first: float) -> float:
    """A continued fraction by Lentz's method, `term(m)` giving numerator and denominator."""
    c, d, value = first or _TINY, 0.0, first or _TINY
    for m in range(1, 100_000):
        a, b = term(m)
        d = 1.0 / ((b + a * d) or _TINY)
        c = (b + a / c) or _TINY
        value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value


def beta_share(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b); Abramowitz and Stegun 26.5.8."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):
        return 1.0 - beta_share(b, a, 1.0 - x)

    def term(m: int) -> tuple[float, float]:
        k = m // 2
        if m == 1:
            return 1.0, 1.0
        if m % 2:
            return k * (b - k) * x / ((a + 2 * k - 1) * (a + 2 * k)), 1.0
        k -= 1
        return -(a + k) * (a + b + k) * x / ((a + 2 * k) * (a + 2 * k + 1)), 1.0

    front = exp(a * log(x) + b * log1p(-x) + lgamma(a + b) - lgamma(a) - lgamma(b)) / a
    return min(1.0, front * _fraction(term, 0.0))


def at_least(k: float, n: float, p: float) -> float:
    """P(X >= k) for a binomial X."""
    return 1.0 if k <= 0 else beta_share(k, n - k + 1, p) if k <= n else 0.0


def at_most(k: float, n: float, p: float) -> float:
    """P(X <= k) for a binomial X."""
    return 1.0 if k >= n else beta_share(n - k, k + 1, 1.0 - p) if k >= 0 else 0.0


def doubled(k: float, n: float, p: float) -> float:
    """Twice the smaller one-sided binomial p, at most 1."""
    return min(1.0, 2.0 * min(at_least(k, n, p), at_most(k, n, p)))


def _root(rises: Callable[[float], float], target: float, low: float, high: float) -> float:
    """Where a rising function reaches the target: regula falsi, halving the end that stays (Illinois)."""
    under, over = rises(low) - target, rises(high) - target
    for _ in range(200):
        middle = (low * over - high * under) / (over - under)
        if not low < middle < high:
            middle = (low + high) / 2
        at = rises(middle) - target
        if abs(at) < 1e-12 or high - low < 1e-12:
            return middle
        if at < 0:
            low, under, over = middle, at, over / 2
        else:
            high, over, under = middle, at, under / 2
    return (low + high) / 2


def share_interval(k: float, n: float, miss: float = 0.05) -> tuple[float, float]:
    """Clopper and Pearson's exact interval for a binomial share."""
    low = 0.0 if k == 0 else _root(lambda p: at_least(k, n, p), miss / 2, 0.0, k / n)
    high = 1.0 if k == n else _root(lambda p: 1.0 - at_most(k, n, p), 1.0 - miss / 2, k / n, 1.0)
    return low, high


def odds_ratio(share: float, exposure: float) -> float:
    """Rate inside over rate outside, from the share of events and the share of exposure inside."""
    return inf if share >= 1 or exposure <= 0 else share / (1 - share) * (1 - exposure) / exposure


def rate_ratio(inside: float, time_inside: float, outside: float, time_outside: float) -> RateRatio:
    """Exact conditional comparison of two Poisson rates: given the sum, the first count is binomial.

    Raises CalculationError without any event or without exposure on both sides.
    """
    n, exposure = inside + outside, time_inside / ((time_inside + time_outside) or inf)
    if n == 0 or not 0 < exposure < 1:
        raise CalculationError(say("triplog.no_ratio"))
    low, high = (odds_ratio(s, exposure) for s in share_interval(inside, n))
    more = at_least(inside, n, exposure)
    return RateRatio(odds_ratio(inside / n, exposure), low, high, more, doubled(inside, n, exposure))


def rayleigh(n: int, length: float) -> tuple[float, float]:
    """(z, p) for `n` directions with mean resultant length 0..1; p after Zar, Biostatistical Analysis, 27.4."""
    resultant = n * length
    p = exp(sqrt(1 + 4 * n + 4 * (n * n - resultant * resultant)) - (1 + 2 * n))
    return n * length * length, min(1.0, p)


def discovery(ps: Sequence[float]) -> list[float]:
    """Benjamini and Hochberg's adjusted p of each test: the false-discovery rate at which it would count."""
    order = sorted(range(len(ps)), key=lambda i: ps[i])
    adjusted, least = [1.0] * len(ps), 1.0
    for rank in range(len(ps), 0, -1):
        index = order[rank - 1]
        least = min(least, ps[index] * len(ps) / rank)
        adjusted[index] = least
    return adjusted


def chi_square_above(x: float, freedom: float) -> float:
    """Upper tail of chi-square: regularised upper incomplete gamma; Abramowitz and Stegun 6.5.29 and 6.5.31."""
    a, x = freedom / 2, x / 2
    if x <= 0:
        return 1.0
    front = exp(a * log(x) - x - lgamma(a))
    if x > a + 1:
        return front * _fraction(lambda m: (1.0 if m == 1 else -(m - 1) * (m - 1 - a), x + 2 * m - 1 - a), 0.0)
    total = part = 1.0 / a
    for m in range(1, 1_000_000):
        part *= x / (a + m)
        total += part
        if part < total * 1e-16:
            break
    return max(0.0, 1.0 - front * total)


def dispersion(counts: Sequence[float]) -> tuple[float, float]:
    """(D, p): Fisher's index of dispersion of counts in equal stretches, against chi-square; small p = clumped."""
    mean = sum(counts) / len(counts)
    if mean == 0 or len(counts) < 2:
        return 0.0, 1.0
    d = sum((c - mean) ** 2 for c in counts) / mean
    return d, chi_square_above(d, len(counts) - 1)


def fisher(a: int, b: int, c: int, d: int) -> float:
    """Fisher's exact test of the table (a b / c d): all tables with these sums no likelier than this one."""
    row, column, n = a + b, a + c, a + b + c + d

    def chance(x: int) -> float:
        return exp(_log_choose(column, x) + _log_choose(n - column, row - x) - _log_choose(n, row))

    possible = [chance(x) for x in range(max(0, row + column - n), min(row, column) + 1)]
    return min(1.0, sum(p for p in possible if p <= chance(a) * (1 + 1e-7)))


def _log_choose(n: int, k: int) -> float:
    return lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)


def normal_above(z: float) -> float:
    """Upper tail of the standard normal distribution."""
    return erfc(z / sqrt(2)) / 2


def most_shown(p: float) -> float:
    """The largest logarithm of a Bayes factor that a p-value can stand for: Sellke, Bayarri and Berger 2001
    (The American Statistician 55)."""
    return -log(-e * max(p, _TINY) * log(max(p, _TINY))) if p < 1 / e else 0.0
