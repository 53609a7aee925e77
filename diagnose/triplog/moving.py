"""Trips and the gate's own movement, second by second: after it arrives shut, and while it moves.

Each is held against the minutes around the same movements, so that hour, traffic, weather and light are the same.
"""

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from diagnose.triplog.episodes import GAP_S, since_latest, starts, unprompted
from diagnose.triplog.records import DAY_S, Bools, Count, Floats, Ints, Log, Tested
from diagnose.triplog.scan import day_spread, gain, tested
from diagnose.words import say

ONE_TRIP_S = 2.0
"""Trips nearer to each other are one."""
EDGES_S = (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 20.0, 30.0, 45.0, 60.0)
AROUND_S = 600.0
LEAST_MOVES = 10
_LEAST_TRIPS = 5
SOON_S = 12.0
"""What a shock or the leaf's end does comes within seconds of the gate arriving shut."""
_OPENS_IN_S = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Since:
    """Trips within `AROUND_S` of some moments: seconds since the latest of them, its number, the day; and the `room`
    after each moment."""

    trips: Floats
    seconds: Floats
    day: Ints
    moment: Ints
    room: Floats


def after_closing(log: Log) -> Tested | None:
    """Trips just after the gate has arrived shut."""
    found = _best("after_closed", "triplog.after_closed", log, log.closes, SOON_S)
    if found is None:
        return None
    test, since, inside = found
    longest = _chain(since.moment[inside])
    detail = f"{test.count.detail}{say('triplog.chain', n=longest)}" if longest > 1 else test.count.detail
    return replace(test, count=replace(test.count, detail=detail))


def while_moving(log: Log, gap_s: float = GAP_S) -> Tested | None:
    """Trips in a window of seconds after the gate began to move, not by a trip."""
    moves = unprompted(log.moves, log.trips, gap_s)
    found = _best("while_moving", "triplog.after_moving", log, moves, EDGES_S[-1], _for_vehicles(log, moves))
    return found[0] if found else None


def _for_vehicles(log: Log, moves: Floats) -> Bools:
    """Movements that somebody's opening brought about: what comes after them may be the vehicle."""
    return (since_latest(moves, log.opens) <= _OPENS_IN_S) & ~np.isin(moves, log.closing)


def _best(
    name: str, words: str, log: Log, moments: Floats, until: float, passed: Bools | None = None
) -> tuple[Tested, Since, Bools] | None:
    """The window after some moments that tells most, of trips within ten minutes of one that is not `passed` over."""
    if len(moments) < LEAST_MOVES:
        return None
    since = _since(log, moments, np.zeros(len(moments), bool) if passed is None else passed)
    n = len(since.seconds)
    if n < _LEAST_TRIPS:
        return None
    spans = [span for span in combinations(EDGES_S, 2) if span[1] <= until]
    counts = [_count(since, words, span) for span in spans]
    at = max(range(len(spans)), key=lambda i: gain(counts[i]))
    inside = (since.seconds >= spans[at][0]) & (since.seconds < spans[at][1])
    test = tested(name, counts[at], len(spans) / 2, None, _spread(since, inside))
    whole = len(starts(log.trips, ONE_TRIP_S))
    shown = Count(counts[at].detail, counts[at].inside, whole, counts[at].share * n / whole)
    return replace(test, count=shown, members=since.trips[inside]), since, inside


def _since(log: Log, moments: Floats, passed: Bools) -> Since:
    trips = log.trips[starts(log.trips, ONE_TRIP_S)]
    seconds = since_latest(trips, moments)
    at = np.searchsorted(moments, trips, "right") - 1
    near = (seconds < AROUND_S) & ~passed[np.maximum(at, 0)]
    room = np.clip(np.diff(np.append(moments, log.end)), 0, AROUND_S)[~passed]
    day = (log.clock.local(trips) // DAY_S).astype(np.int64)
    return Since(trips[near], seconds[near], (day - day[0])[near] if len(day) else day, at[near], room)


def _count(since: Since, words: str, span: tuple[float, float]) -> Count:
    first, last = span
    share = float((np.clip(since.room, first, last) - first).clip(0).sum() / max(since.room.sum(), 1e-9))
    inside = int(((since.seconds >= first) & (since.seconds < last)).sum())
    detail = say(words, first=f"{first:g}", last=f"{last:g}")
    return Count(detail, inside, len(since.seconds), min(share, 0.999))


def _spread(since: Since, inside: Bools) -> float:
    """As `day_spread`, over the days that have a trip near a movement; endless where the window is used on one."""
    return day_spread(since.day, inside) if len(np.unique(since.day[inside])) >= 2 else np.inf


def _chain(moments: Ints) -> int:
    """The longest run of closings one after the other that a trip followed."""
    steps = np.diff(np.unique(moments)) == 1
    longest = run = 1 if len(moments) else 0
    for step in steps:
        run = run + 1 if step else 1
        longest = max(longest, run)
    return longest
