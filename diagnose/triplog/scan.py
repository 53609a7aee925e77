"""The best of several ways to split the episodes, with the price of having tried several."""

from collections.abc import Sequence
from math import inf, log

import numpy as np

from diagnose.triplog.exact import rate_ratio
from diagnose.triplog.grid import Grid
from diagnose.triplog.records import Bools, Count, Floats, Tested

_TINY = 1e-9


def gain(count: Count) -> float:
    """Log-likelihood gained by two rates over one, where the rate inside is the higher; else 0."""
    k, n, share = count.inside, count.total, count.share
    if n == 0 or not 0 < share < 1 or k <= n * share:
        return 0.0
    return k * log(k / (n * share)) + ((n - k) * log((n - k) / (n * (1 - share))) if k < n else 0.0)


def tested(name: str, count: Count, searched: int = 1, weight: Floats | None = None) -> Tested:
    """The exact conditional test of one split that was the best of `searched`."""
    k, n, share = count.inside, count.total, count.share
    if n == 0 or not 0 < share < 1:
        return Tested(name, count, 1.0, 0.0, inf, 1.0, 0.0, searched)
    found = rate_ratio(k, share, n - k, 1 - share)
    strength = gain(count) - log(n) / 2 - log(searched)
    p = min(1.0, searched * found.p)
    return Tested(name, count, found.ratio, found.low, found.high, p, strength, searched, weight)


def best_mask(
    name: str, grid: Grid, masks: Sequence[tuple[str, Bools]], among: Bools | None = None, searched: int = 0
) -> Tested | None:
    """The most telling of several sets of steps, or None where none splits the log."""
    counts = [grid.count(detail, mask, among) for detail, mask in masks]
    usable = [i for i, c in enumerate(counts) if 0 < c.share < 1 and c.total]
    if not usable:
        return None
    best = max(usable, key=lambda i: gain(counts[i]))
    return tested(name, counts[best], searched or len(usable), fitted(masks[best][1], counts[best]))


def fitted(inside: Bools, count: Count) -> Floats:
    """The fitted rate per step, smoothed by half an episode on each side so that none is zero."""
    k, n, share = count.inside + 0.5, count.total + 1.0, min(max(count.share, _TINY), 1 - _TINY)
    return np.where(inside, k / (n * share), (n - k) / (n * (1 - share)))
