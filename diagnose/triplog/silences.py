"""Outages: supply that went and came back, and silences too long for that hour of that weekday."""

from dataclasses import dataclass

import numpy as np

from diagnose.triplog.grid import HOUR_S, weekday
from diagnose.triplog.records import DAY_S, Bools, Clock, Floats, Ints

SHORTEST_S = 2 * HOUR_S
_APART_S = 120.0
"""Rows this close are one happening: a vehicle alone gives several."""
_SURE = 5.5
"""By even chance one log in 250 has a silence that counts: e to this, for all gaps together."""
_FEWEST = 100


@dataclass(frozen=True, slots=True)
class Silence:
    """Nothing was logged from `begin` to `end`, UTC seconds; `expected` happenings would have been."""

    begin: float
    end: float
    expected: float


def happenings(times: Floats) -> Floats:
    """Rows in rising order -> the first of each group of rows that belong together."""
    return times[np.concatenate(([True], np.diff(times) > _APART_S))] if len(times) else times


def _kind_of_hour(local: Floats) -> Ints:
    """Hour of the day, Saturdays and Sundays apart from working days and from each other."""
    return np.asarray((local % DAY_S) // HOUR_S + 24 * np.maximum(weekday(local) - 4, 0), np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Usual:
    """What is usual: happenings `passed` by the beginning of each hour of the log, had every day been a usual one.
    `spread`: how much more the counts of hours scatter than even chance would, 1 and above."""

    edges: Floats
    passed: Floats
    spread: float

    def expected(self, begin: Floats, end: Floats) -> Floats:
        """Happenings to be expected between two times."""
        at = np.interp(np.concatenate([begin, end]), self.edges, self.passed)
        return np.asarray(at[len(begin) :] - at[: len(begin)])

    def next_after(self, time: float) -> float:
        """When the next happening was due after a time."""
        due = float(np.interp(time, self.edges, self.passed)) + 1.0
        return float(np.interp(due, self.passed, self.edges))


def profile(every: Floats, clock: Clock, known: Floats) -> Usual | None:
    """What is usual at each hour of the kinds of days, from the hours outside `known` outages; None for a log too
    short to say."""
    rows = happenings(every)
    if len(rows) < _FEWEST:
        return None
    begin = float(rows[0] // HOUR_S * HOUR_S)
    hours: Floats = begin + HOUR_S * np.arange(int((every[-1] - begin) // HOUR_S) + 1, dtype=np.float64)
    kind = _kind_of_hour(clock.local(hours + HOUR_S / 2))
    counts = np.bincount(((rows - begin) // HOUR_S).astype(np.int64), minlength=len(hours)).astype(np.float64)
    watched = ~_covered(hours, known)
    seen = np.bincount(kind[watched], minlength=int(kind.max()) + 1)
    mean = (np.bincount(kind[watched], counts[watched], minlength=len(seen)) / np.maximum(seen, 1))[kind]
    passed = np.concatenate(([0.0], np.cumsum(np.maximum(mean, 1e-6))))
    return Usual(np.append(hours, hours[-1] + HOUR_S), passed, _spread(counts[watched], mean[watched]))


def silences(every: Floats, clock: Clock, known: Floats) -> list[Silence]:
    """Gaps between rows in which far more was to be expected at those hours; `known` outages count as no time."""
    found: list[Silence] = []
    gaps = np.flatnonzero(np.diff(every) >= SHORTEST_S)
    begin, end = every[gaps], every[gaps + 1]
    for _ in range(3):  # what is found is no time either: it had lowered what is usual
        stretches = np.concatenate([known, np.array([[s.begin, s.end] for s in found]).reshape(-1, 2)])
        usual = profile(every, clock, stretches)
        if usual is None or not len(gaps):
            return []
        expected = usual.expected(begin, end)
        long = expected >= (_SURE + np.log(len(gaps))) * usual.spread
        again = [
            Silence(float(begin[i]), float(end[i]), float(expected[i]))
            for i in np.flatnonzero(long)
            if not _is_known(float(begin[i]), float(end[i]), known)
        ]
        if len(again) == len(found):
            break
        found = again
    return found


def _spread(counts: Floats, mean: Floats) -> float:
    """How much more the counts scatter than even chance would: 1 and above."""
    usable = mean > 0
    return max(1.0, float(((counts - mean)[usable] ** 2 / mean[usable]).mean())) if usable.any() else 1.0


def _covered(hours: Floats, stretches: Floats) -> Bools:
    inside = np.zeros(len(hours), bool)
    for begin, end in stretches:
        inside |= (hours + HOUR_S > begin) & (hours < end)
    return inside


def _is_known(begin: float, end: float, known: Floats) -> bool:
    return any(begin < b and a < end for a, b in known)
