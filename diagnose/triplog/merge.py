"""Several logs of one sensor -> one: what two of them tell of the same moment counts once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.triplog.episodes import resolution
from diagnose.triplog.records import Bools, Floats, Ints
from diagnose.triplog.rows import Rows
from diagnose.triplog.words import KINDS

Part = tuple[Rows, Floats]
"""Usable rows, and their UTC seconds."""
SAME = 0.5
"""Share of the rows of the common time that both have, from which on two logs are one sensor's (judgement)."""
_FEWEST = 5
_SHIFTS_S = 1800.0 * np.arange(-28, 29)
_HOUR_S = 3600.0


@dataclass(frozen=True, slots=True)
class Alike:
    """How many rows the log with fewer of them has in the time that both cover, and how many of these both have."""

    rows: int
    both: int

    @property
    def share(self) -> float:
        """Share of the rows that both have; 0 where too few can be compared."""
        return self.both / self.rows if self.rows >= _FEWEST else 0.0


def alike(first: Part, second: Part) -> Alike:
    """Two logs compared over the time that both cover."""
    inside = _common(first[1], second[1])
    a, b = (_only(part, which) for part, which in zip((first, second), inside, strict=True))
    return Alike(min(len(a[1]), len(b[1])), int(doubled(a, b).sum()))


def _common(first: Floats, second: Floats) -> tuple[Bools, Bools]:
    if not len(first) or not len(second):
        return np.zeros(len(first), bool), np.zeros(len(second), bool)
    begin, end = max(first.min(), second.min()), min(first.max(), second.max())
    return (first >= begin) & (first <= end), (second >= begin) & (second <= end)


def _only(part: Part, which: Bools) -> Part:
    return part[0].kept(which), part[1][which]


def doubled(first: Part, second: Part) -> Bools:
    """Which rows of the second log the first has as well: of a kind, at the same time to the coarser of the two
    clocks. Where the second tells of more such rows than the first, the rest are new."""
    step = max(1.0, resolution(first[1]), resolution(second[1]))
    had, had_often = np.unique(_keys(first, step), return_counts=True)
    keys = _keys(second, step)
    at = np.minimum(np.searchsorted(had, keys), max(len(had) - 1, 0))
    often = np.where(had[at] == keys, had_often[at], 0) if len(had) else np.zeros(len(keys), np.int64)
    return np.asarray(_number_among_equals(keys) < often)


def _keys(part: Part, step: float) -> Ints:
    return np.asarray(np.floor(part[1] / step + 1e-6), np.int64) * len(KINDS) + part[0].kind


def _number_among_equals(keys: Ints) -> Ints:
    """0 for the first of each key, 1 for the next, and so on."""
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    number = np.empty(len(keys), np.int64)
    number[order] = np.arange(len(keys)) - np.searchsorted(ordered, ordered)
    return number


def merged(parts: Sequence[Part]) -> tuple[list[Part], list[int]]:
    """The logs of one sensor, each without what an earlier one tells, and how many rows that were."""
    found: list[Part] = []
    dropped: list[int] = []
    for rows, utc in _by_one_name(parts):
        twice = np.zeros(len(utc), bool)
        for earlier in found:
            twice |= doubled(earlier, (rows, utc))
        found.append((rows.kept(~twice), utc[~twice]))
        dropped.append(int(twice.sum()))
    return found, dropped


def _by_one_name(parts: Sequence[Part]) -> list[Part]:
    """A log without a column of sensors is of the one sensor that the others name."""
    names = {name for rows, _ in parts for name in rows.sensors if name}
    if len(names) != 1:
        return list(parts)
    return [(replace(rows, sensors=tuple(names) * len(rows.sensors)), utc) for rows, utc in parts]


def hours_off(first: Part, second: Part) -> tuple[float, Alike]:
    """The shift, in hours, at which two logs agree best: another time zone than was told."""
    found = [(alike(first, (second[0], second[1] + shift)), float(shift)) for shift in _SHIFTS_S]
    best, shift = max(found, key=lambda f: (f[0].share, -abs(f[1])))
    return shift / _HOUR_S, best
