"""Rows of one or several files -> one log."""

from collections.abc import Sequence

import numpy as np

from diagnose.triplog.records import DAY_S, Clock, Floats, Ints, Log, Place, TripLogError, Weather
from diagnose.triplog.rows import Rows
from diagnose.triplog.words import KINDS
from diagnose.words import say

YEAR_S = 366 * DAY_S
MOST_YEARS = 5
"""One row from a clock that was not set yet would stretch the log over decades of nothing."""

Part = tuple[Rows, Floats]
"""Usable rows, and their UTC seconds."""


def assemble(parts: Sequence[Part], clock: Clock, weather: Weather | None = None, place: Place | None = None) -> Log:
    """The log lasts from the first usable row of any kind to the last. Raises TripLogError without a trip."""
    times = np.concatenate([utc for _, utc in parts]) if parts else np.zeros(0)
    kinds = np.concatenate([rows.kind for rows, _ in parts]) if parts else np.zeros(0, np.int64)
    chosen = {kind: np.sort(times[kinds == code]) for code, kind in enumerate(KINDS)}
    if not len(chosen["trip"]):
        raise TripLogError(say("triplog.no_trip"))
    names, sensor = _sensors(parts)
    order = np.argsort(times[kinds == KINDS.index("trip")], kind="stable")
    begin, end = float(times.min()), float(times.max())
    if end - begin > MOST_YEARS * YEAR_S:
        first, last = (str(np.datetime64(int(t), "s"))[:10] for t in (begin, end))
        raise TripLogError(say("triplog.too_long", first=first, last=last, most=MOST_YEARS))
    return Log(
        chosen["trip"], sensor[order], names, chosen["move"], chosen["pass"], begin, max(end, begin + 1), clock,
        weather, place,
    )  # fmt: skip


def _sensors(parts: Sequence[Part]) -> tuple[tuple[str, ...], Ints]:
    """Names of all sensors that tripped, and the sensor of each trip in the order of the files."""
    known: dict[str, int] = {}
    found: list[Ints] = []
    for rows, _ in parts:
        mine = rows.sensor[rows.kind == KINDS.index("trip")]
        used = {int(i): known.setdefault(rows.sensors[i], len(known)) for i in np.unique(mine)}
        table = np.zeros(max(used, default=0) + 1, np.int64)
        table[list(used)] = list(used.values())
        found.append(table[mine])
    return tuple(known), np.concatenate(found)
