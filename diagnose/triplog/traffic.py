"""Trips that follow traffic. Where they do, exposure is a blend of clock time and traffic, so that busy hours do not
look like a pattern of their own.
"""

from math import log

import numpy as np

from diagnose.triplog.episodes import unprompted
from diagnose.triplog.exact import normal_above, odds_ratio, share_interval
from diagnose.triplog.grid import Grid, kind_of_hour
from diagnose.triplog.records import Floats, Ints, Log, Tested
from diagnose.triplog.scan import spread
from diagnose.words import say

BLEND_AT = 0.01
LEAST_TRAFFIC = 50
_DRAWN = 4.0
"""Passes that what is usual counts for, against what was counted in the very hour (judgement)."""


def traffic_of(log: Log) -> tuple[Floats, str]:
    """What stands for traffic: vehicle passes, else openings for vehicles, else movements that answer no trip."""
    if len(log.passes) >= LEAST_TRAFFIC:
        return log.passes, say("triplog.passes")
    if len(log.opens) >= LEAST_TRAFFIC:
        return log.opens, say("triplog.openings")
    return unprompted(log.moves, log.trips), say("triplog.movements")


def follow_traffic(log: Log, grid: Grid) -> tuple[Tested | None, Grid]:
    """Whether the trips follow traffic, and the grid whose exposure is blended with it where they do."""
    traffic, what = traffic_of(log)
    if len(traffic) < LEAST_TRAFFIC or not len(grid.episodes):
        return None, grid
    hours, at = grid.hours, grid.hours_of(traffic)
    flat = np.asarray(np.bincount(hours, grid.exposure), np.float64)
    busy = _smoothed(np.bincount(at, minlength=len(flat)).astype(np.int64), _kind_of_each(grid, hours), flat)
    density = (busy / np.maximum(flat, 1e-12))[hours]
    blend, gain = blended(density[grid.at])
    tested = as_tested("traffic", grid, density, blend, gain, say("triplog.busier_hours", what=what))
    weight = 1 - blend + blend * density
    return tested, grid.reweighted(weight) if tested.p < BLEND_AT else grid


def _kind_of_each(grid: Grid, hours: Ints) -> Ints:
    """Of each hour of the log."""
    return kind_of_hour(grid.local[np.searchsorted(hours, np.arange(hours[-1] + 1))])


def _smoothed(counted: Ints, kind: Ints, flat: Floats) -> Floats:
    """Traffic per hour as a share of all, each hour drawn toward what such hours usually have."""
    usual = np.bincount(kind, counted) / np.maximum(np.bincount(kind, flat), 1e-12)
    expected = usual[kind] * flat
    drawn = expected * (counted + _DRAWN) / (expected + _DRAWN)
    return np.asarray(drawn / drawn.sum())


def blended(density: Floats) -> tuple[float, float]:
    """Likeliest share of trips that follow traffic, and the log-likelihood it gains over none."""
    share = 0.5
    for _ in range(200):
        follows = share * density / (1 - share + share * density)
        share = min(float(follows.mean()), 0.98)
    return share, float(np.log(1 - share + share * density).sum())


def as_tested(
    name: str, grid: Grid, density: Floats, blend: float, gain: float, detail: str, searched: int = 1
) -> Tested:
    """Told as steps with more against steps with less; p and strength from the likelihood of the blend."""
    more = density > 1
    busy = grid.count(detail, more)
    wide = spread(grid, more, busy)
    k, n = busy.inside / wide, max(busy.total / wide, 1.0)
    least, most = share_interval(min(k, n), n)
    low, ratio, high = (odds_ratio(share, busy.share) for share in (least, k / n, most))
    p = min(1.0, searched * normal_above(max(0.0, 2 * gain / wide) ** 0.5))
    strength = gain / wide - log(n) / 2 - log(searched)
    return Tested(name, busy, ratio, low, high, p, strength, searched, 1 - blend + blend * density, wide)
