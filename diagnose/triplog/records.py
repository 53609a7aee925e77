"""A trip log as arrays, and what a test found in it. Times are seconds UTC since 1970 unless a name says local."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from diagnose.calc.sun import Direction
from diagnose.errors import DiagnoseError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
DAY_S = 86400.0


class TripLogError(DiagnoseError):
    """A trip log cannot be used; the message says where and what to do."""


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """Local time as a step table: from `since[i]` (UTC seconds) the local clock runs `ahead[i]` seconds ahead."""

    name: str
    since: Floats
    ahead: Floats

    def local(self, utc: Floats) -> Floats:
        """UTC seconds -> seconds on the local clock."""
        at = np.searchsorted(self.since, utc, "right") - 1
        return utc + self.ahead[np.maximum(at, 0)]


@dataclass(frozen=True, slots=True, eq=False)
class Weather:
    """Readings in step: each holds until the next. `values`: rain mm/h, wind m/s, temperature °C, humidity %,
    visibility m; not-a-number where a reading is missing."""

    times: Floats
    values: Mapping[str, Floats]


@dataclass(frozen=True, slots=True)
class LookDirection:
    """The direction one optical unit looks along."""

    name: str
    direction: Direction


@dataclass(frozen=True, slots=True)
class Place:
    """Where the gate stands, degrees north and east, and where its devices look."""

    latitude_deg: float
    longitude_deg: float
    looks: tuple[LookDirection, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Aside:
    """Rows that are explained already, and why: `kind` names the reason, `says` tells it with its figures. `times`
    are the trips among them, UTC; rows that are no trips (an opening by the gate itself, a cut row) only count."""

    kind: str
    count: int
    says: str
    times: Floats = field(default_factory=lambda: np.zeros(0), repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """Trips with the sensor each came from (an index into `sensors`), movements of the gate and vehicle passes.

    All rising, in seconds UTC. `trips` are those that are left once what is explained was set `aside`. `opens`:
    somebody lets a vehicle in (card, remote, button, loop). `closes`: the gate arrives shut, where the log tells
    that from other movement; `closing`: it begins to shut, where the log tells that from opening. `outages`: begin
    and end of each stretch in which nothing was logged or watched, to be taken from the exposure; `returns`: the
    supply came back, however short it was gone. `columns`: times and values of every numeric column. `durations`
    are per trip, seconds, not-a-number where none was logged; no entries at all where the log has no such column.
    """

    trips: Floats
    sensor: Ints
    sensors: tuple[str, ...]
    moves: Floats
    passes: Floats
    begin: float
    end: float
    clock: Clock
    weather: Weather | None = None
    place: Place | None = None
    opens: Floats = field(default_factory=lambda: np.zeros(0))
    closes: Floats = field(default_factory=lambda: np.zeros(0))
    outages: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    columns: Mapping[str, tuple[Floats, Floats]] = field(default_factory=dict)
    durations: Floats = field(default_factory=lambda: np.zeros(0))
    aside: tuple[Aside, ...] = ()
    returns: Floats = field(default_factory=lambda: np.zeros(0))
    closing: Floats = field(default_factory=lambda: np.zeros(0))


@dataclass(frozen=True, slots=True)
class Count:
    """One way to split the episodes: `inside` of `total` where `share` of the exposure lies."""

    detail: str
    inside: int
    total: int
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Tested:
    """What one test found. `ratio` is the rate inside over the rate outside, with its 95 % interval.

    `p` is already corrected for the `searched` ways of splitting that were tried; `log_bayes` is the natural
    logarithm of the approximate Bayes factor against a constant rate, uncapped. `weight` is the fitted rate per
    bin of the grid (None where the pattern is finer than the grid). `wide` is how much more the days differ than
    chance lets them: p, interval and strength count with it. `members` are the trips that make it up where it is
    finer than the grid.
    """

    name: str
    count: Count
    ratio: float
    low: float
    high: float
    p: float
    log_bayes: float
    searched: int
    weight: Floats | None = field(default=None, repr=False)
    wide: float = 1.0
    members: Floats | None = field(default=None, repr=False)

    @property
    def explains(self) -> float:
        """Share of the episodes beyond what the exposure would give, 0 to 1."""
        expected = (self.count.total - self.count.inside) * self.count.share / max(1 - self.count.share, 1e-12)
        return max(0.0, (self.count.inside - expected) / max(self.count.total, 1))
