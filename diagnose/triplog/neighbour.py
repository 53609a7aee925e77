"""A second sensor's log beside this one: what both tell at once has one cause, what one tells alone is its own.

Only the time in which both were watching counts. Vehicles let in, walk tests and outages were set aside in both.
"""

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from diagnose.triplog.episodes import joined, resolution, starts
from diagnose.triplog.grid import STEP_S
from diagnose.triplog.near_vehicles import beside_vehicles
from diagnose.triplog.neighbour_clock import ahead as clock_ahead
from diagnose.triplog.neighbour_clock import every, set_back
from diagnose.triplog.records import DAY_S, Bools, Count, Floats, Log, Tested
from diagnose.triplog.scan import day_spread, gain, tested
from diagnose.triplog.story import mask_of
from diagnose.triplog.vehicles import delays

WINDOWS_S = (1.0, 2.0, 5.0, 10.0, 30.0, 60.0)
AROUND_S = 1800.0
_APART_S = 300.0
HALF_HOUR_S = 1800.0
SEES_VEHICLES = 0.8
"""A neighbour that sees four vehicles in five, and sees nothing, says that none was there (judgement)."""
TOGETHER_AT = 0.01
_ONE_TRIP_S = 2.0
_PASSES_S = 60.0
_FEWEST_VEHICLES = 10


@dataclass(frozen=True, slots=True, eq=False)
class NeighbourLog:
    """Another sensor's log, and whether it watches the same lane."""

    name: str
    lane: bool
    log: Log


@dataclass(frozen=True, slots=True, eq=False)
class Vehicles:
    """Of `of` vehicles let in that this sensor saw, how many the neighbour `saw`, `first` to `last` seconds after."""

    of: int = 0
    saw: int = 0
    first: float = 0.0
    last: float = 0.0

    @property
    def share(self) -> float:
        """Share of the vehicles that the neighbour saw; 0 where too few passed to say."""
        return self.saw / self.of if self.of >= _FEWEST_VEHICLES else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """What the neighbour tells. `trips` are this sensor's while both watched, of `all_trips`; `at_once` is their test
    within `window_s` of a trip of the neighbour, `lasting` that of the others within half an hour; `alone` flags
    those with no trip of the neighbour of any kind near. `outages` of this log, and how many of them are the
    neighbour's too; its clock ran `ahead_s` seconds ahead, which is taken back."""

    of: NeighbourLog
    all_trips: int
    trips: Floats
    window_s: float
    at_once: Tested | None
    lasting: Tested | None
    together: Bools
    alone: Bools
    vehicles: Vehicles
    outages: int
    outages_of_both: int
    hours: float
    ahead_s: float = 0.0

    @property
    def no_vehicle(self) -> bool:
        """Whether the neighbour's silence says that no vehicle was there."""
        return self.of.lane and self.vehicles.share >= SEES_VEHICLES


def beside(log: Log, other: NeighbourLog) -> Beside:
    """What a neighbour's log tells of this one's trips."""
    ahead = clock_ahead(log, other.log) if other.lane else 0.0
    other = replace(other, log=set_back(other.log, ahead)) if ahead else other
    off = _off(log, other.log)
    begin, end = max(log.begin, other.log.begin), min(log.end, other.log.end)
    mine, theirs = (beside_vehicles(one)[0].trips for one in (log, other.log))
    trips = mine[starts(mine, _ONE_TRIP_S)]
    watched = trips[_inside(trips, begin, end, off)]
    theirs = theirs[_inside(theirs, begin, end, off)]
    hours = max(0.0, end - begin - _lasting(off, begin, end)) / 3600
    window, at_once = _at_once(log, other.log, watched, theirs)
    together = _near(watched, theirs, -window, window)
    vehicles = _vehicles(log, other.log, begin, end, off)
    reach = max(window, abs(vehicles.first), abs(vehicles.last)) if vehicles.saw else max(window, _PASSES_S / 2)
    alone = ~_near(watched, every(other.log), -reach, reach)
    lasting = _half_hour(log, watched[~together], theirs, hours)
    return Beside(
        other, len(trips), watched, window, at_once, lasting, together, alone, vehicles, len(log.outages),
        _shared(log.outages, other.log.outages), hours, ahead,
    )  # fmt: skip


def _off(log: Log, other: Log) -> Floats:
    """The outages of both, in order."""
    return joined(np.concatenate([log.outages.reshape(-1, 2), other.outages.reshape(-1, 2)]))


def _inside(times: Floats, begin: float, end: float, off: Floats) -> Bools:
    """Which times lie in what both watched."""
    inside = (times >= begin) & (times <= end)
    at = np.searchsorted(off[:, 0], times, "right") - 1
    if len(off):
        inside &= (at < 0) | (times > off[np.maximum(at, 0), 1])
    return np.asarray(inside)


def _lasting(off: Floats, begin: float, end: float) -> float:
    return float(np.diff(np.clip(off, begin, max(begin, end))).sum()) if len(off) else 0.0


def _near(times: Floats, others: Floats, low: float, high: float) -> Bools:
    """Which times have one of the rising `others` from `low` to `high` seconds off."""
    first, last = np.searchsorted(others, times + low, "left"), np.searchsorted(others, times + high, "right")
    return np.asarray(last > first)


def _at_once(log: Log, other: Log, mine: Floats, theirs: Floats) -> tuple[float, Tested | None]:
    """The window of seconds that tells most, held against the half hours around the same trips: what goes on for a
    while in both (rain, a busy hour) is in these as well."""
    step = max(resolution(log.trips), resolution(other.trips))
    windows = [w for w in WINDOWS_S if w >= min(step, WINDOWS_S[-1])]
    if not len(mine) or not len(theirs):
        return windows[0], None
    around = len(delays(mine, theirs, -AROUND_S, AROUND_S)) - len(delays(mine, theirs, -_APART_S, _APART_S))
    rate = (around + 0.5) / (2 * (AROUND_S - _APART_S)) / len(mine)  # of theirs, per second and trip of mine
    counts = [_counted(mine, theirs, w, 1 - float(np.exp(-rate * 2 * w))) for w in windows]
    at = max(range(len(windows)), key=lambda i: gain(counts[i]))
    wide = _days_spread(log, mine, _near(mine, theirs, -windows[at], windows[at]))
    return windows[at], tested("at_once", counts[at], len(windows), None, wide)


def _counted(mine: Floats, theirs: Floats, window: float, share: float) -> Count:
    inside = int(_near(mine, theirs, -window, window).sum())
    return Count("", inside, len(mine), min(max(share, 1e-9), 0.999))


def _half_hour(log: Log, mine: Floats, theirs: Floats, hours: float) -> Tested | None:
    """Trips with one of the neighbour's within half an hour, against what an even rate of the neighbour's gives."""
    if not len(mine) or not len(theirs) or hours <= 0:
        return None
    rate = len(theirs[starts(theirs, HALF_HOUR_S)]) / (hours * 3600)
    count = _counted(mine, theirs, HALF_HOUR_S, 1 - float(np.exp(-rate * 2 * HALF_HOUR_S)))
    return tested("lasting", count, 1, None, _days_spread(log, mine, _near(mine, theirs, -HALF_HOUR_S, HALF_HOUR_S)))


def _days_spread(log: Log, times: Floats, inside: Bools) -> float:
    day = (log.clock.local(times) // DAY_S).astype(np.int64)
    return day_spread(day - day.min(), inside) if len(np.unique(day[inside])) >= 2 else inf


def _vehicles(log: Log, other: Log, begin: float, end: float, off: Floats) -> Vehicles:
    """How the neighbour sees the vehicles that this log set aside as let in."""
    times = np.sort(np.concatenate([np.zeros(0), *(a.times for a in log.aside if a.kind == "vehicles")]))
    times = times[_inside(times, begin, end, off)]
    lag = _nearest(times, every(other))
    lag = lag[np.abs(lag) <= _PASSES_S]
    if not len(lag):
        return Vehicles(len(times))
    first, last = (float(v) for v in np.quantile(lag, (0.01, 0.99)))
    return Vehicles(len(times), len(lag), first, last)


def _nearest(times: Floats, others: Floats) -> Floats:
    """Seconds from each time to the nearest of the others."""
    if not len(others):
        return np.full(len(times), np.inf)
    at = np.searchsorted(others, times)
    before, after = others[np.maximum(at - 1, 0)] - times, others[np.minimum(at, len(others) - 1)] - times
    return np.where(np.abs(before) <= np.abs(after), before, after)


def _shared(mine: Floats, theirs: Floats) -> int:
    """How many stretches of one lie over one of the other."""
    return sum(any(a < d and c < b for c, d in theirs.reshape(-1, 2)) for a, b in mine.reshape(-1, 2))


def of_pattern(log: Log, test: Tested, found: Beside) -> tuple[int, int]:
    """(trips of a pattern while both watched, how many of them at once with the neighbour)."""
    inside = _members(log, test, found.trips)
    return int(inside.sum()), int((inside & found.together).sum())


def _members(log: Log, test: Tested, trips: Floats) -> Bools:
    if test.members is not None:
        return np.isin(trips, test.members)
    mask = mask_of(test)
    if mask is None:
        return np.zeros(len(trips), bool)
    at = ((trips - np.floor(log.begin / STEP_S) * STEP_S) // STEP_S).astype(np.int64)
    return np.asarray(mask[np.clip(at, 0, len(mask) - 1)])
