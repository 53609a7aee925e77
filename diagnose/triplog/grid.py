"""Time in steps of five minutes with the exposure of each step: what a constant rate would give it.

Where traffic is logged and the trips follow it, exposure is a blend of clock time and traffic, so that busy hours
do not look like a pattern of their own.
"""

from dataclasses import dataclass, replace
from math import log

import numpy as np

from diagnose.triplog.episodes import GAP_S, starts, unprompted
from diagnose.triplog.exact import normal_above, odds_ratio, share_interval
from diagnose.triplog.records import DAY_S, Bools, Count, Floats, Ints, Log, Tested
from diagnose.words import say

STEP_S = 300.0
HOUR_S = 3600.0
BLEND_AT = 0.01
_LEAST_TRAFFIC = 50
_DRAWN = 4.0
"""Passes that what is usual counts for, against what was counted in the very hour (judgement)."""


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """`middle` and `local` of each step in seconds, its `exposure` (sum 1), and the step of each episode."""

    middle: Floats
    local: Floats
    exposure: Floats
    episodes: Floats
    at: Ints

    @property
    def hour(self) -> Floats:
        """Hour of the local day, 0 to 24, at the middle of each step."""
        return (self.local % DAY_S) / HOUR_S

    def count(self, detail: str, inside: Bools, among: Bools | None = None) -> Count:
        """Episodes and exposure inside a set of steps, against the rest of `among`."""
        known = np.ones(len(self.middle), bool) if among is None else among
        both = inside & known
        whole = float(self.exposure[known].sum())
        share = float(self.exposure[both].sum()) / whole if whole > 0 else 0.0
        return Count(detail, int(both[self.at].sum()), int(known[self.at].sum()), share)

    def reweighted(self, weight: Floats) -> "Grid":
        """The grid with a pattern already accounted for: exposure times its fitted rate."""
        exposure = self.exposure * weight
        return replace(self, exposure=exposure / exposure.sum())


def make_grid(log: Log, gap_s: float = GAP_S) -> Grid:
    """The grid of a log; exposure is clock time alone."""
    edges = np.arange(np.floor(log.begin / STEP_S), np.ceil(log.end / STEP_S) + 1) * STEP_S
    if len(edges) < 2:
        edges = np.array([edges[0], edges[0] + STEP_S])
    covered = np.clip(edges[1:], log.begin, log.end) - np.clip(edges[:-1], log.begin, log.end)
    covered = covered if covered.sum() > 0 else np.ones(len(covered))
    episodes = log.trips[starts(log.trips, gap_s)]
    at = np.clip(((episodes - edges[0]) // STEP_S).astype(np.int64), 0, len(edges) - 2)
    middle = (edges[:-1] + edges[1:]) / 2
    return Grid(middle, log.clock.local(middle), covered / covered.sum(), episodes, at)


def traffic_of(log: Log) -> tuple[Floats, str]:
    """What stands for traffic: vehicle passes, else movements that are not the gate's answer to a trip."""
    if len(log.passes) >= _LEAST_TRAFFIC:
        return log.passes, say("triplog.passes")
    return unprompted(log.moves, log.trips), say("triplog.movements")


def follow_traffic(log: Log, grid: Grid) -> tuple[Tested | None, Grid]:
    """Whether the trips follow traffic, and the grid whose exposure is blended with it where they do."""
    traffic, what = traffic_of(log)
    if len(traffic) < _LEAST_TRAFFIC or not len(grid.episodes):
        return None, grid
    hours = ((grid.middle - grid.middle[0]) // HOUR_S).astype(np.int64)
    at = np.clip(((traffic - grid.middle[0]) // HOUR_S).astype(np.int64), 0, hours[-1])
    flat = np.asarray(np.bincount(hours, grid.exposure), np.float64)
    busy = _smoothed(np.bincount(at, minlength=len(flat)).astype(np.int64), _kind_of_hour(grid, hours), flat)
    density = (busy / np.maximum(flat, 1e-12))[hours]
    blend, gain = _blended(density[grid.at])
    tested = _as_tested(grid, density, blend, gain, what)
    weight = 1 - blend + blend * density
    return tested, grid.reweighted(weight) if tested.p < BLEND_AT else grid


def _kind_of_hour(grid: Grid, hours: Ints) -> Ints:
    """Hour of the day, working days apart from weekends, for each hour of the log."""
    local = grid.local[np.searchsorted(hours, np.arange(hours[-1] + 1))]
    weekend = ((local // DAY_S).astype(np.int64) + 3) % 7 >= 5  # 1 January 1970 was a Thursday
    return np.asarray((local % DAY_S) // HOUR_S + 24 * weekend, np.int64)


def _smoothed(counted: Ints, kind: Ints, flat: Floats) -> Floats:
    """Traffic per hour as a share of all, each hour drawn toward what such hours usually have."""
    usual = np.bincount(kind, counted) / np.maximum(np.bincount(kind, flat), 1e-12)
    expected = usual[kind] * flat
    drawn = expected * (counted + _DRAWN) / (expected + _DRAWN)
    return np.asarray(drawn / drawn.sum())


def _blended(density: Floats) -> tuple[float, float]:
    """Likeliest share of trips that follow traffic, and the log-likelihood it gains over none."""
    share = 0.5
    for _ in range(200):
        follows = share * density / (1 - share + share * density)
        share = min(float(follows.mean()), 0.98)
    return share, float(np.log(1 - share + share * density).sum())


def _as_tested(grid: Grid, density: Floats, blend: float, gain: float, what: str) -> Tested:
    """Told as busier against quieter hours; p and strength from the likelihood of the blend."""
    busy = grid.count(say("triplog.busier_hours", what=what), density > 1)
    k, n = busy.inside, max(busy.total, 2)
    least, most = share_interval(k, n)
    low, ratio, high = (odds_ratio(share, busy.share) for share in (least, k / n, most))
    p = normal_above(max(0.0, 2 * gain) ** 0.5)
    return Tested("traffic", busy, ratio, low, high, p, gain - log(n) / 2, 1, 1 - blend + blend * density)
