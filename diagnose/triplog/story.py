"""One story of several findings: each is tested with the others, and hour, light, traffic and week, held fixed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, inf, log, sqrt
from typing import Literal

import numpy as np

from diagnose.triplog.exact import fisher
from diagnose.triplog.grid import STEP_S, Grid, make_grid
from diagnose.triplog.records import DAY_S, Bools, Ints, Log, Tested
from diagnose.triplog.scan import spread, tested
from diagnose.triplog.sky import below_horizon
from diagnose.triplog.traffic import LEAST_TRAFFIC, traffic_of

STANDS_AT = 0.01
"""p under which a finding is still there with another held fixed."""
LEAST_RATIO = 1.5
_LEAST_INFORMED = 0.2
_SAME = 0.7
"""Share of the trips of one finding that are another's, from which on they are one (judgement)."""
_PARTS = 5
_OFTEN = 0.25
"""Vehicles come at the hours of a pattern on so many of its days, before they are worth a word (judgement)."""
FINER = ("spacing", "bursts")
"""Inside the minute: told beside whatever says when the trips come."""
Standing = Literal["explained", "both", "open"]
Factor = Literal["hour", "light", "traffic", "week"]
OWN: dict[Factor, frozenset[str]] = {
    "hour": frozenset({"time_of_day", "two_times", "clock_jump", "drift", "follows_sun", "week", "every_nth_day"}),
    "light": frozenset({"dark", "road_lights", "low_sun", "mirrored_sun", "sun_patch", "follows_sun"}),
    "traffic": frozenset({"traffic"}),
    "week": frozenset({"change", "trend"}),
}
"""What cannot be held fixed for a pattern, because the pattern is made of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Rival:
    """Another finding beside the one told: its ratio with the told one held fixed, and what stands."""

    test: Tested
    ratio: float
    low: float
    high: float
    stands: Standing


@dataclass(frozen=True, slots=True)
class Held:
    """The told ratio once a factor is held fixed, with its 95 % interval."""

    factor: Factor
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class Story:
    """What belongs to one pattern: its rivals, what was held fixed, and how many single trips it makes up."""

    rivals: tuple[Rival, ...]
    held: tuple[Held, ...]
    trips: float
    of: int
    openings: "Openings | None" = None


@dataclass(frozen=True, slots=True)
class Openings:
    """Vehicles let in at the hours of a pattern: on how many `days`, on how many of those trips came, and on how many
    of the `other` days; `p` that vehicles make no difference."""

    days: int
    with_trips: int
    other: int
    other_with_trips: int
    p: float


def openings_of(log_: Log, grid: Grid, told: Tested) -> Openings | None:
    """For a pattern of hours: whether its trips come on the days on which vehicles come at these hours."""
    inside = mask_of(told)
    if inside is None or told.name not in OWN["hour"] or len(log_.opens) < LEAST_TRAFFIC:
        return None
    slot, day = (grid.local % DAY_S // STEP_S).astype(np.int64), (grid.local // DAY_S).astype(np.int64)
    hours = np.isin(slot, slot[inside])  # at any day, also on those that the pattern passes over
    ran = np.unique(day[hours & (grid.exposure > 0)])
    passed = grid.steps_of(log_.opens)
    came, tripped = (np.isin(ran, day[at[hours[at]]]) for at in (passed, grid.at))
    a, b = int((came & tripped).sum()), int((came & ~tripped).sum())
    c, d = int((~came & tripped).sum()), int((~came & ~tripped).sum())
    if (a + b) < _OFTEN * len(ran):
        return None
    return Openings(a + b, a, c + d, c, fisher(a, b, c, d))


def mask_of(test: Tested) -> Bools | None:
    """The steps in which a pattern has its higher rate."""
    if test.weight is None:
        return None
    return np.asarray(test.weight > (test.weight.min() + test.weight.max()) / 2)


def without(log_: Log, grid: Grid, test: Tested, gap_s: float) -> tuple[Log, Grid]:
    """Log and grid with a pattern accounted for: its rate in the exposure, or its own trips taken out."""
    if test.weight is not None:
        return log_, grid.reweighted(test.weight)
    if test.members is None:
        return log_, grid
    kept = ~np.isin(log_.trips, test.members)
    rest = replace(log_, trips=log_.trips[kept], sensor=log_.sensor[kept])
    again = make_grid(rest, gap_s)
    return rest, replace(again, exposure=grid.exposure)


def story_of(log_: Log, grid: Grid, told: Tested, others: Sequence[Tested], gap_s: float) -> Story:
    """Rivals of a pattern among the other findings, and the pattern within strata."""
    asked = [] if told.name in FINER else others
    rivals = [r for other in asked if (r := _rival(log_, grid, told, other, gap_s))]
    factors = strata(log_, grid)
    held = [h for factor, parts in factors.items() if (h := _held(grid, told, factor, parts))]
    trips = trips_in(grid, told)
    return Story(tuple(rivals), tuple(held), trips, len(grid.trips_at), openings_of(log_, grid, told))


def _rival(log_: Log, grid: Grid, told: Tested, other: Tested, gap_s: float) -> Rival | None:
    mine, theirs = mask_of(told), mask_of(other)
    if theirs is None:
        return _of_the_same_trips(told, other)
    _, given_told = without(log_, grid, told, gap_s)
    given = _again(given_told, other, theirs)
    still = given.p < STANDS_AT and given.ratio >= LEAST_RATIO
    if mine is None:
        return Rival(other, given.ratio, given.low, given.high, "both" if still else "explained")
    back = _again(grid.reweighted(other.weight), told, mine) if other.weight is not None else told
    told_stands = back.p < STANDS_AT and back.ratio >= LEAST_RATIO
    stands: Standing = "both" if still else "explained" if told_stands else "open"
    return Rival(other, given.ratio, given.low, given.high, stands)


def _of_the_same_trips(told: Tested, other: Tested) -> Rival | None:
    """A finding inside the minute that is made of the trips that this one has explained."""
    return Rival(other, 1.0, 0.0, inf, "explained") if same_trips(told, other) else None


def same_trips(told: Tested, other: Tested) -> bool:
    """Whether one finding inside the minute is made of another's trips."""
    if told.members is None or other.members is None or not len(other.members):
        return False
    return float(np.isin(other.members, told.members).mean()) >= _SAME


def _again(grid: Grid, test: Tested, inside: Bools) -> Tested:
    """One split tested once more on a grid in which something else is accounted for."""
    count = grid.count(test.count.detail, inside)
    if not count.total:
        return replace(test, p=1.0, ratio=1.0, low=0.0, high=inf)
    return tested(test.name, count, 1, None, spread(grid, inside, count))


def strata(log_: Log, grid: Grid) -> dict[Factor, Ints]:
    """Hour of the day, darkness, traffic of the hour in five parts, and the week of the log, per step."""
    hour = grid.hour.astype(np.int64) % 24
    found: dict[Factor, Ints] = {
        "hour": hour,
        "week": np.asarray((grid.local - grid.local[0]) // (7 * DAY_S), np.int64),
    }
    if log_.place:
        found["light"] = below_horizon(grid.middle, log_.place).astype(np.int64)
    traffic = traffic_of(log_)[0]
    if len(traffic) >= LEAST_TRAFFIC:
        passed = np.bincount(grid.hours_of(traffic), minlength=int(grid.hours[-1]) + 1)
        found["traffic"] = np.minimum(passed, _PARTS - 1)[grid.hours]
    return found


def _held(grid: Grid, told: Tested, factor: Factor, parts: Ints) -> Held | None:
    """Mantel and Haenszel's ratio over the strata, with Greenland and Robins' interval."""
    inside = mask_of(told)
    if inside is None or told.name in OWN[factor]:
        return None
    size = int(parts.max()) + 1
    a, b = (np.bincount(parts[grid.at[m[grid.at]]], minlength=size) for m in (inside, ~inside))
    more, less = (np.bincount(parts, grid.exposure * m, size) for m in (inside, ~inside))
    whole = np.maximum(more + less, 1e-300)
    if (a + b)[(more > 0) & (less > 0)].sum() < _LEAST_INFORMED * max(len(grid.at), 1):
        return None
    up, down = float((a * less / whole).sum()), float((b * more / whole).sum())
    if up <= 0 or down <= 0:
        return Held(factor, inf if up > 0 else 0.0, 0.0, inf) if up > 0 else None
    spreading = sqrt(told.wide * float(((a + b) * more * less / whole**2).sum()) / (up * down))
    ratio = up / down
    return Held(factor, ratio, ratio * exp(-1.96 * spreading), ratio * exp(min(1.96 * spreading, log(1e300))))


def trips_in(grid: Grid, told: Tested) -> float:
    """Single trips beyond what the lower rate would have brought."""
    if told.members is not None:
        return float(len(told.members))
    if told.weight is None or not len(grid.trips_at):
        return told.explains * len(grid.trips_at)
    inside = mask_of(told)
    levels = np.unique(told.weight)
    if inside is None or len(levels) > 2:
        return float((1 - levels[0] / told.weight[grid.trips_at]).sum())
    k = int(inside[grid.trips_at].sum())
    share = float(grid.exposure[inside].sum())
    return max(0.0, k - (len(grid.trips_at) - k) * share / max(1 - share, 1e-12))
