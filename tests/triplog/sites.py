"""Invented logs as a gate writes them: vehicles let in, somebody walking about, outages; drawn from a seed."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diagnose.store.triplogs import clock_of
from diagnose.triplog.assemble import Bounds, assemble
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.layout import find_layout
from diagnose.triplog.records import DAY_S, Floats, Log
from diagnose.triplog.rows import placed, read_rows

BEGIN = 1_772_409_600.0  # 2 March 2026, 00:00 UTC, a Monday
Row = tuple[float, str, str]
"""Seconds since BEGIN, event word, how long it lasted."""


@dataclass
class Site:
    """A log in the making. Vehicles come `low` to `high` seconds after the word."""

    seed: int
    days: int = 30
    rows: list[Row] = field(default_factory=list)
    vehicles: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)

    def trips(self, times: NDArray[np.floating[Any]], low: float = 0.2, high: float = 1.5) -> "Site":
        """False trips at these seconds since BEGIN."""
        self.rows += [(float(t), "sensor_trip", f"{self.rng.uniform(low, high):.1f}") for t in times]
        return self

    def even(self, per_day: float) -> Floats:
        """Times at an even rate."""
        return np.sort(self.rng.uniform(0, self.days * DAY_S, self.rng.poisson(per_day * self.days)))

    def let_in(self, word: str, per_day: float, low: float, high: float) -> "Site":
        """Vehicles by day, each with a trip of its own 2 to 6 s long."""
        for day in range(self.days):
            for _ in range(self.rng.poisson(per_day)):
                t = day * DAY_S + float(self.rng.uniform(6, 20)) * 3600
                after = t + float(self.rng.uniform(low, high))
                self.rows += [(t, word, ""), (after, "sensor_trip", f"{self.rng.uniform(2, 6):.1f}")]
                self.vehicles.append(after)
        return self

    def walk(self, day: float, hour: float, trips: int, span: float) -> "Site":
        """Somebody walks about: trips at random within `span` seconds."""
        begin = day * DAY_S + hour * 3600
        return self.trips(begin + np.sort(self.rng.uniform(0, span, trips)), 0.5, 5)

    def gone(self, first: float, last: float) -> "Site":
        """Nothing is logged between two times, in days."""
        self.rows = [row for row in self.rows if not first * DAY_S <= row[0] < last * DAY_S]
        return self

    def lines(self) -> list[str]:
        """The log as text, with tenths of a second."""
        stamps = [str(np.datetime64(round((BEGIN + t) * 10) * 100, "ms"))[:-2] for t, _, _ in self.rows]
        text = sorted(f"{s},{word},{lasted}" for s, (_, word, lasted) in zip(stamps, self.rows, strict=True))
        return ["time,event,duration_s", *text]

    def log(self, bounds: Bounds | None = None) -> Log:
        """The log as the program reads it."""
        return log_of(self.lines(), bounds)


def log_of(lines: list[str], bounds: Bounds | None = None, **said: str) -> Log:
    layout = find_layout(lines, said)
    assert not isinstance(layout, FileQuestion), layout
    rows, utc, _ = placed(read_rows(lines, layout), clock := clock_of("UTC", BEGIN, BEGIN + 400 * DAY_S))
    return assemble([(rows, utc)], clock, None, None, bounds)


def aside(log: Log, kind: str) -> list[str]:
    """What was said of the rows set aside for one reason."""
    return [a.says for a in log.aside if a.kind == kind]


def among(times: Floats, log: Log) -> int:
    """How many of these times, seconds since BEGIN, are still trips of the log."""
    return int(np.isin(np.round(np.asarray(times) + BEGIN, 1), np.round(log.trips, 1)).sum())
