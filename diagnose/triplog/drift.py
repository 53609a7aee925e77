"""What changes over the length of the log: a day on which the rate changed, and a rate that grows."""

from dataclasses import replace
from math import exp, inf, log, pi, sqrt

import numpy as np

from diagnose.triplog.exact import normal_above
from diagnose.triplog.grid import STEP_S, Grid
from diagnose.triplog.records import DAY_S, Count, Floats, Tested
from diagnose.triplog.scan import fitted, tested
from diagnose.words import say

_TRIM = 0.05
_LEAST = 8
_STEEPEST = 60.0


def progress(grid: Grid) -> Floats:
    """How much of the exposure each episode has behind it, 0 to 1."""
    before = np.cumsum(grid.exposure) - grid.exposure
    within = (grid.episodes - (grid.middle[grid.at] - STEP_S / 2)) / STEP_S
    return np.clip(before[grid.at] + np.clip(within, 0, 1) * grid.exposure[grid.at], 1e-9, 1 - 1e-9)


def change(grid: Grid) -> Tested | None:
    """The moment that splits the log best into two rates.

    p of the best of all moments after Miller and Siegmund 1982 (Biometrics 38), the outer 5 % left out.
    """
    done, n = progress(grid), len(grid.episodes)
    before = np.arange(1, n)
    usable = (done[1:] > _TRIM) & (done[1:] < 1 - _TRIM)
    if n < _LEAST or not usable.any():
        return None
    split = done[1:]
    gains = before * np.log(before / (n * split)) + (n - before) * np.log((n - before) / (n * (1 - split)))
    at = int(np.argmax(np.where(usable, gains, -inf)))
    more_after = (n - before[at]) > n * (1 - split[at])
    return _at_moment(grid, float(grid.episodes[at + 1]), float(gains[at]), more_after)


def _at_moment(grid: Grid, moment: float, gained: float, more_after: bool) -> Tested:
    after = grid.middle >= moment - STEP_S / 2
    local = float(np.interp(moment, grid.middle, grid.local))
    day = np.datetime64(int(local // DAY_S), "D")
    detail = say("triplog.since", day=day) if more_after else say("triplog.until", day=day)
    inside = after if more_after else ~after
    count = grid.count(detail, inside)
    n = len(grid.episodes)
    plain = tested("change", count, n, fitted(inside, count))
    strength = gained - 1.5 * log(n)
    return replace(plain, p=_best_of_all(gained), log_bayes=strength, searched=n)


def _best_of_all(gained: float) -> float:
    b = sqrt(2 * max(gained, 0.0))
    if b < 1:
        return 1.0
    density = exp(-b * b / 2) / sqrt(2 * pi)
    return min(1.0, density * (b - 1 / b) * 2 * log((1 - _TRIM) / _TRIM) + 4 * density / b)


def trend(grid: Grid) -> Tested | None:
    """A rate that grows by the same factor in equal times; p of Laplace's test for growth, doubled."""
    n = len(grid.episodes)
    if n < _LEAST:
        return None
    done = progress(grid)
    steep = _steepness(float(done.mean()))
    z = (float(done.mean()) - 0.5) * sqrt(12 * n)
    gained = n * (steep * float(done.mean()) - _log_mean_exp(steep)) if steep > 0 else 0.0
    spread = 1.96 / sqrt(n * max(_spread(steep), 1e-9))
    ratio, low, high = (exp(min(max(steep + s, -_STEEPEST), _STEEPEST)) for s in (0.0, -spread, spread))
    later = np.cumsum(grid.exposure) > 0.5
    half = grid.count(say("triplog.second_half"), later)
    count = Count(say("triplog.growing"), half.inside, half.total, half.share)
    behind = np.cumsum(grid.exposure)
    weight = np.exp(steep * behind - _log_mean_exp(steep))
    p = min(1.0, 2 * normal_above(z))
    return Tested("trend", count, ratio, low, high, p, gained - log(n) / 2, 1, weight)


def _log_mean_exp(b: float) -> float:
    """log of the mean of exp(b·u) over u from 0 to 1."""
    return b / 2 if abs(b) < 1e-9 else b + log(-np.expm1(-b) / b) if b > 0 else log(np.expm1(b) / b)


def _mean(b: float) -> float:
    return 0.5 + b / 12 if abs(b) < 1e-4 else 1 / -np.expm1(-b) - 1 / b


def _spread(b: float) -> float:
    """Variance of u under the density exp(b·u)."""
    return (_mean(b + 1e-3) - _mean(b - 1e-3)) / 2e-3


def _steepness(mean: float) -> float:
    """The b whose mean of u is `mean`, by bisection."""
    low, high = -_STEEPEST, _STEEPEST
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _mean(middle) < mean else (low, middle)
    return (low + high) / 2
