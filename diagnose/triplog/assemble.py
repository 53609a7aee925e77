"""Rows of one or several files -> one log."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from diagnose.triplog.aside import Raw, set_aside
from diagnose.triplog.merge import Part
from diagnose.triplog.records import DAY_S, Aside, Bools, Clock, Floats, Ints, Log, Place, TripLogError, Weather
from diagnose.triplog.rows import Rows
from diagnose.triplog.words import KINDS, Kind, arrives_shut, begins_to_shut, ends, power_lost
from diagnose.words import say

YEAR_S = 366 * DAY_S
MOST_YEARS = 5
"""One row from a clock that was not set yet would stretch the log over decades of nothing."""
_LENT: tuple[Kind, ...] = ("open", "move", "closed", "pass", "service")
"""What the log of another sensor on the lane tells of the gate as well."""


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """What a person wants of a log: from `begin` to `end`, UTC seconds, without the stretches `out`; and which
    reasons to set rows aside are not wanted (`keep`)."""

    begin: float = -np.inf
    end: float = np.inf
    out: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    keep: Collection[str] = ()

    def inside(self, times: Floats) -> Bools:
        """Which times are wanted."""
        wanted = (times >= self.begin) & (times < self.end)
        for begin, end in self.out:
            wanted &= ~((times >= begin) & (times < end))
        return wanted


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """The rows of all files together, in order of time; `says` is 'file word' as an index into `words`."""

    utc: Floats
    kind: Ints
    sensor: Ints
    word: Ints
    duration: Floats
    words: tuple[str, ...]
    sensors: tuple[str, ...]

    def of(self, *kinds: Kind) -> Bools:
        return np.isin(self.kind, [KINDS.index(kind) for kind in kinds])

    def flagged(self, test: Sequence[bool]) -> Bools:
        """Rows whose word passes a test that is given per word."""
        return np.asarray(np.array(test, bool)[self.word]) if len(test) else np.zeros(len(self.utc), bool)

    def kept(self, which: Bools) -> "_Table":
        return _Table(
            self.utc[which], self.kind[which], self.sensor[which], self.word[which], self.duration[which],
            self.words, self.sensors,
        )  # fmt: skip


def assemble(
    parts: Sequence[Part],
    clock: Clock,
    weather: Weather | None = None,
    place: Place | None = None,
    bounds: Bounds | None = None,
    beside: Sequence[Part] = (),
) -> Log:
    """The log lasts from the first usable row of any kind to the last. What it does not tell of the gate is taken
    from the logs `beside` it, which do not say that this one was on. Raises TripLogError without a trip."""
    wanted = bounds or Bounds()
    whole = _table(parts)
    if not whole.of("trip").any():
        raise TripLogError(say("triplog.no_trip"))
    first = _span(whole.utc)
    table, told = _wanted(whole, wanted, parts)
    if not table.of("trip").any():
        raise TripLogError(say("triplog.no_trip_left"))
    begin, end = max(first[0], wanted.begin), min(first[1], wanted.end)
    every = table.utc
    table = _with_lent(parts, beside, table, wanted)
    left = set_aside(_raw(table, every, clock, weather, wanted, int(whole.of("trip").sum())), wanted.keep)
    raw, moves = left.raw, _moves(table)
    names, sensor = _used(table.sensors, raw.sensor)
    shut = table.of("closed") | (table.of("move") & table.flagged([arrives_shut(w) for w in table.words]))
    closing = table.of("move") & table.flagged([begins_to_shut(w) for w in table.words])
    return Log(
        raw.trips, sensor, names, moves, table.utc[table.of("pass")], begin, max(end, begin + 1), clock, weather,
        place, left.opens, table.utc[shut], left.outages, _columns(parts, wanted), _durations(raw.durations),
        (*told, *left.aside), left.returns, table.utc[closing],
    )  # fmt: skip


def _span(times: Floats) -> tuple[float, float]:
    begin, end = float(times.min()), float(times.max())
    if end - begin > MOST_YEARS * YEAR_S:
        first, last = (str(np.datetime64(int(t), "s"))[:10] for t in (begin, end))
        raise TripLogError(say("triplog.too_long", first=first, last=last, most=MOST_YEARS))
    return begin, end


def _table(parts: Sequence[Part]) -> _Table:
    """Rows that come at the same second stay in the order of the file."""
    words: dict[str, int] = {}
    sensors: dict[str, int] = {}
    columns = [_columns_of(rows, utc, words, sensors) for rows, utc in parts]
    utc, kind, sensor, word, lasted = (np.concatenate(c) for c in zip(*columns, strict=True))
    order = np.argsort(utc, kind="stable")
    return _Table(utc[order], kind[order], sensor[order], word[order], lasted[order], tuple(words), tuple(sensors))


def _columns_of(
    rows: Rows, utc: Floats, words: dict[str, int], sensors: dict[str, int]
) -> tuple[Floats, Ints, Ints, Ints, Floats]:
    known = rows.words or ("",)
    word = rows.word if len(rows.word) == len(utc) else np.zeros(len(utc), np.int64)
    said = np.array([words.setdefault(name, len(words)) for name in known], np.int64)[word]
    used = np.unique(rows.sensor[rows.kind == KINDS.index("trip")])
    which = {int(i): sensors.setdefault(rows.sensors[int(i)], len(sensors)) for i in used}
    sensor = np.array([which.get(i, 0) for i in range(max(len(rows.sensors), 1))], np.int64)[rows.sensor]
    lasted = rows.duration if len(rows.duration) == len(utc) else np.full(len(utc), np.nan)
    return utc, rows.kind, sensor, said, lasted


def _wanted(table: _Table, bounds: Bounds, parts: Sequence[Part]) -> tuple[_Table, list[Aside]]:
    """Without what a person does not want, without rows that came twice and without what broke off."""
    told: list[Aside] = []
    inside = bounds.inside(table.utc)
    if not inside.all():
        trips = table.utc[~inside & table.of("trip")]
        says = say("triplog.aside_told", n=int((~inside).sum()), trips=len(trips))
        told.append(Aside("told", int((~inside).sum()), says, trips))
        table = table.kept(inside)
    twice = np.zeros(len(table.utc), bool) if "duplicates" in bounds.keep else _twice(table)
    if twice.any():
        trips = table.utc[twice & table.of("trip")]
        says = say("triplog.aside_twice", n=int(twice.sum()), trips=len(trips))
        told.append(Aside("duplicate", int(twice.sum()), says, trips))
        table = table.kept(~twice)
    if cut := sum(rows.cut for rows, _ in parts):
        told.append(Aside("cut", cut, say("triplog.aside_cut", n=cut)))
    return table, told


def _twice(table: _Table) -> Bools:
    """Rows that say the very same as an earlier one; nobody can tell where times are written to the minute."""
    if not (np.round(table.utc, 3) % 60).any():
        return np.zeros(len(table.utc), bool)
    keys = (np.nan_to_num(table.duration, nan=-1.0), table.sensor, table.word, table.kind, table.utc)
    order = np.lexsort(keys)
    same = np.ones(max(len(order) - 1, 0), bool)
    for key in keys:
        same &= np.diff(key[order]) == 0
    found = np.zeros(len(order), bool)
    found[order[1:][same]] = True
    return found


def _with_lent(parts: Sequence[Part], beside: Sequence[Part], table: _Table, bounds: Bounds) -> _Table:
    """The table, with the rows of other logs of such kinds as it has none of."""
    lacking = [KINDS.index(kind) for kind in _LENT if not table.of(kind).any()]
    lent = [(rows.kept(which), utc[which]) for rows, utc in beside if (which := np.isin(rows.kind, lacking)).any()]
    return _wanted(_table([*parts, *lent]), bounds, ())[0] if lent else table


def _raw(table: _Table, every: Floats, clock: Clock, weather: Weather | None, bounds: Bounds, trips: int) -> Raw:
    trip, service, power = (table.of(kind) for kind in ("trip", "service", "power"))
    opening = table.of("open")
    opens = {table.words[int(w)]: table.utc[opening & (table.word == w)] for w in np.unique(table.word[opening])}
    over, lost = (table.flagged([test(w) for w in table.words]) for test in (ends, power_lost))
    return Raw(
        table.utc[trip], table.sensor[trip], table.duration[trip], opens,
        table.utc[service], over[service].astype(np.int64), table.utc[power], lost[power].astype(np.int64),
        every, clock, weather, bounds.out.reshape(-1, 2), trips,
    )  # fmt: skip


def _moves(table: _Table) -> Floats:
    """Movements that begin; an arrival stands for one where the log has nothing else."""
    moves = table.of("move") & ~table.flagged([arrives_shut(w) for w in table.words])
    return table.utc[moves if moves.any() else table.of("move", "closed")]


def _used(names: Sequence[str], sensor: Ints) -> tuple[tuple[str, ...], Ints]:
    """The sensors that trips are left of."""
    used = np.unique(sensor)
    table = np.zeros(max(len(names), 1), np.int64)
    table[used] = np.arange(len(used))
    return tuple(names[int(i)] for i in used), table[sensor]


def _columns(parts: Sequence[Part], bounds: Bounds) -> dict[str, tuple[Floats, Floats]]:
    """Each column of numbers, the same name in several files made one, in order of time."""
    found: dict[str, tuple[list[Floats], list[Floats]]] = {}
    for rows, utc in parts:
        for name, values in rows.values.items():
            wanted = ~np.isnan(values) & bounds.inside(utc)
            times, readings = found.setdefault(name, ([], []))
            times.append(utc[wanted])
            readings.append(values[wanted])
    out: dict[str, tuple[Floats, Floats]] = {}
    for name, (times, readings) in found.items():
        at = np.concatenate(times)
        order = np.argsort(at, kind="stable")
        if len(at):
            out[name] = (at[order], np.concatenate(readings)[order])
    return out


def _durations(durations: Floats) -> Floats:
    return durations if not np.isnan(durations).all() else np.zeros(0)
