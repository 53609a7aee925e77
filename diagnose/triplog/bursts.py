"""Walk tests without a word for them: a burst of trips in working hours that is like no other burst of the log."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from diagnose.triplog.records import DAY_S, Bools, Clock, Floats, Weather

APART_S = 150.0
"""A pause longer than this ends a burst."""
LEAST = 8
LONGEST_S = 45 * 60.0
WORK_H = (6.5, 19.0)
_LIKE = 2.5
_RARE = 2
_SMALL = 0.35
_FEWEST = 3
_SAME_CLOCK_H = 1.5
_GATHERED = 0.8
_WET_MM_H = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Burst:
    """A run of trips: indices from `first` to before `end`, span and usual spacing in seconds, local hour and day."""

    first: int
    end: int
    begin: float
    span: float
    spacing: float
    hour: float
    day: int

    @property
    def count(self) -> int:
        """How many trips."""
        return self.end - self.first


def bursts(trips: Floats, clock: Clock, least: int) -> list[Burst]:
    """Every burst of at least `least` trips."""
    cuts = np.flatnonzero(np.diff(trips) > APART_S) + 1
    edges = np.concatenate(([0], cuts, [len(trips)]))
    local = clock.local(trips)
    return [
        Burst(
            int(a), int(b), float(trips[a]), float(trips[b - 1] - trips[a]), float(np.median(np.diff(trips[a:b]))),
            float(local[a] % DAY_S / 3600), int(local[a] // DAY_S),
        )
        for a, b in pairwise(edges.tolist())
        if b - a >= max(least, 2)
    ]  # fmt: skip


def walk_tests(trips: Floats, clock: Clock, spared: Floats, weather: Weather | None) -> list[Burst]:
    """Bursts that were most likely a person walking about: single or rare, in working hours, unlike the others.

    What comes back on other days is a mechanism, and so is what comes in rain. `spared` stretches are let alone.
    """
    every = bursts(trips, clock, _FEWEST)
    found = [
        burst
        for burst in every
        if burst.count >= LEAST and _at_work(burst) and burst.span <= LONGEST_S
        and not _inside(burst.begin, spared) and not _wet(burst, weather)
    ]  # fmt: skip
    return [burst for burst in found if _alone(burst, [b for b in every if b.count >= round(_SMALL * burst.count)])]


def _at_work(burst: Burst) -> bool:
    """By day; technicians come at weekends too."""
    return WORK_H[0] <= burst.hour <= WORK_H[1]


def _inside(time: float, stretches: Floats) -> bool:
    return any(begin <= time <= end for begin, end in stretches)


def _wet(burst: Burst, weather: Weather | None) -> bool:
    rain = weather.values.get("rain") if weather else None
    if weather is None or rain is None:
        return False
    lately = (weather.times > burst.begin - 7200) & (weather.times <= burst.begin + burst.span)
    return bool((np.nan_to_num(rain)[lately] > _WET_MM_H).any())


def _alone(burst: Burst, all_: list[Burst]) -> bool:
    """Two other days at most have a burst like it, and none out of working hours, of which no mechanism knows; or the
    others gather at another hour of the clock, so that they have a cause of their own."""
    others = [b for b in all_ if b.day != burst.day]
    near = {b.day for b in others if _clock_apart(b.hour, burst.hour) <= _SAME_CLOCK_H}
    like = {b.day for b in others if _like(b, burst)}
    if len(like) <= _RARE and all(_at_work(b) for b in others if _like(b, burst)):
        return len(near & {b.day for b in others if b.count >= burst.count / _LIKE}) <= _RARE
    return len(near) <= 1 and _gathered([b.hour for b in others])


def _like(a: Burst, b: Burst) -> bool:
    """About as many trips, about as close together."""
    counts, spacings = a.count / b.count, max(a.spacing, 0.1) / max(b.spacing, 0.1)
    return 1 / _LIKE <= counts <= _LIKE and 1 / _LIKE <= spacings <= _LIKE


def _clock_apart(a: float, b: float) -> float:
    return min(abs(a - b), 24 - abs(a - b))


def _gathered(hours: list[float]) -> bool:
    """Whether most bursts begin within an hour and a half of one hour of the clock."""
    return any(
        sum(_clock_apart(h, at) <= _SAME_CLOCK_H for h in hours) >= _GATHERED * len(hours) and len(hours) > 2
        for at in hours
    )


def flags(found: list[Burst], size: int) -> Bools:
    """Which trips belong to one of the bursts."""
    out = np.zeros(size, bool)
    for burst in found:
        out[burst.first : burst.end] = True
    return out
