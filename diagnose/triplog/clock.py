"""What the wall clock showed -> UTC: hours that come twice in autumn, and hours that never were in spring."""

from dataclasses import dataclass

import numpy as np

from diagnose.triplog.records import Bools, Clock, Floats


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """UTC seconds for each local time; where it came `twice` its place in the file decided, `never` it is no time."""

    utc: Floats
    twice: Bools
    never: Bools


def fixed(name: str, ahead_s: float) -> Clock:
    """A clock that never changes."""
    return Clock(name, np.array([-np.inf]), np.array([ahead_s]))


def to_utc(clock: Clock, local: Floats) -> Placed:
    """Place local times, which are in the order of the file, newest or oldest first, on the UTC line."""
    until = np.append(clock.since[1:], np.inf)
    first, last = np.full(len(local), np.nan), np.full(len(local), np.nan)
    for since, end, ahead in zip(clock.since, until, clock.ahead, strict=True):
        utc = local - ahead
        fits = (utc >= since) & (utc < end)
        first = np.where(fits & np.isnan(first), utc, first)
        last = np.where(fits, utc, last)
    twice = first != last
    never = np.isnan(first)
    return Placed(_in_order(first, last, twice & ~never), twice & ~never, never)


def newest_first(times: Floats) -> bool:
    """Whether most steps of a file go back in time."""
    steps = np.sign(np.diff(times[~np.isnan(times)]))
    return bool(steps.sum() < 0)


def _in_order(first: Floats, last: Floats, twice: Bools) -> Floats:
    """The earlier of two possible times, unless the row before it in time was later already."""
    utc, towards = first.copy(), -1 if newest_first(first) else 1
    for at in np.flatnonzero(twice)[::towards]:
        before = at - towards
        if 0 <= before < len(utc) and utc[before] > first[at]:
            utc[at] = last[at]
    return utc
