"""The best of several ways to split the episodes, with the price of having tried several."""

from collections.abc import Sequence
from math import inf, isinf, log

import numpy as np

from diagnose.triplog.exact import rate_ratio
from diagnose.triplog.grid import Grid
from diagnose.triplog.records import Bools, Count, Floats, Ints, Tested

_TINY = 1e-9


def gain(count: Count) -> float:
    """Log-likelihood gained by two rates over one, where the rate inside is the higher; else 0."""
    k, n, share = count.inside, count.total, count.share
    if n == 0 or not 0 < share < 1 or k <= n * share:
        return 0.0
    return k * log(k / (n * share)) + ((n - k) * log((n - k) / (n * (1 - share))) if k < n else 0.0)


def spread(grid: Grid, inside: Bools, count: Count, among: Bools | None = None) -> float:
    """How much more the days differ than chance lets them, once the split is fitted: 1 or more.

    A day on which everything happened counts once, whatever made it happen: the variance of the score summed over
    days, over what independent events would give (quasi-likelihood). Endless where one day holds all the exposure.
    """
    if not 0 < count.share < 1 or not count.total:
        return 1.0
    known = np.ones(len(grid.middle), bool) if among is None else among
    within, beyond = inside & known, known & ~inside
    whole = float(grid.exposure[known].sum())
    lasting = [np.bincount(grid.day, grid.exposure * part) / whole for part in (within, beyond)]
    counted = [np.bincount(grid.day[grid.at[part[grid.at]]], minlength=len(lasting[0])) for part in (within, beyond)]
    even = [lasting[0] * count.inside / count.share, lasting[1] * (count.total - count.inside) / (1 - count.share)]
    score = (counted[0] - even[0]) * (1 - count.share) - (counted[1] - even[1]) * count.share
    chance = float((even[0] * (1 - count.share) ** 2 + even[1] * count.share**2).sum())
    days = float(lasting[0].sum() ** 2 / max((lasting[0] ** 2).sum(), _TINY**2))
    if days <= 1 + _TINY:
        return inf
    return max(1.0, float((score**2).sum()) / max(chance, _TINY) * days / (days - 1))


def day_spread(day: Ints, inside: Bools) -> float:
    """As `spread`, of single trips: how much more the days differ in their share than chance lets them."""
    within, all_of = np.bincount(day, inside), np.bincount(day)
    part = float(inside.mean())
    chance = len(inside) * part * (1 - part)
    return max(1.0, float(((within - all_of * part) ** 2).sum()) / chance) if chance > 0 else 1.0


def tested(name: str, count: Count, searched: float = 1, weight: Floats | None = None, wide: float = 1.0) -> Tested:
    """The exact conditional test of one split that was the best of `searched`, events counting 1/`wide` each."""
    k, n, share = count.inside / wide, count.total / wide, count.share
    many = max(1, round(searched))
    if n <= 0 or not 0 < share < 1 or isinf(wide):
        return Tested(name, count, 1.0, 0.0, inf, 1.0, 0.0, many)
    found = rate_ratio(k, share, n - k, 1 - share)
    strength = gain(count) / wide - log(max(n, 1.0)) / 2 - log(searched)
    p = min(1.0, searched * found.p)
    return Tested(name, count, found.ratio, found.low, found.high, p, strength, many, weight, wide)


def best_mask(
    name: str, grid: Grid, masks: Sequence[tuple[str, Bools]], among: Bools | None = None, searched: float = 0
) -> Tested | None:
    """The most telling of several sets of steps, or None where none splits the log."""
    counts = [grid.count(detail, mask, among) for detail, mask in masks]
    usable = [i for i, c in enumerate(counts) if 0 < c.share < 1 and c.total]
    if not usable:
        return None
    best = max(usable, key=lambda i: gain(counts[i]))
    return split(name, grid, counts[best], masks[best][1], among, searched or len(usable))


def split(
    name: str, grid: Grid, count: Count, inside: Bools, among: Bools | None = None, searched: float = 1
) -> Tested:
    """The test of one split, with the days' own spread and the rate it fits."""
    return tested(name, count, searched, fitted(inside, count), spread(grid, inside, count, among))


def fitted(inside: Bools, count: Count) -> Floats:
    """The fitted rate per step, smoothed by half an episode on each side so that none is zero."""
    k, n, share = count.inside + 0.5, count.total + 1.0, min(max(count.share, _TINY), 1 - _TINY)
    return np.where(inside, k / (n * share), (n - k) / (n * (1 - share)))
