"""What is asked of a site, what a mechanism plants, and what comes out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from tests.trip_mechanisms.clock import Floats

if TYPE_CHECKING:
    from tests.trip_mechanisms.scene import Scene

Span = tuple[float, float]


@dataclass(frozen=True)
class Wish:
    """What a mechanism needs around it; None leaves it to the throw."""

    days: tuple[int, int] = (21, 75)
    months: tuple[int, ...] = ()  # the first of the log, on the northern half
    changing: bool | None = None  # a clock change well inside the log
    weather: bool | None = None
    moves: str | None = None  # "all", "ends", "closed", "none"
    look: str = "none"  # "known", "hidden", "off": far from where the sun is
    background: tuple[float, float] = (0.2, 1.2)  # a day
    outages: tuple[int, int] = (1, 3)
    outage_hours: tuple[float, float] = (2.0, 14.0)
    power_words: bool | None = None
    sensors: int = 1
    acts: bool | None = None  # a trip opens the gate
    delivery: bool = False  # a vehicle at the same minute every working day
    growth: float = 1.0  # how many times the traffic of the first day comes on the last
    busy: tuple[float, float] = (6.0, 26.0)  # vehicles on a day of work
    fine: bool = False  # the gate stamps tenths of a second


@dataclass(frozen=True)
class Reading:
    """A number the log carries in every row, and sends by itself in between."""

    heading: str
    at: Callable[[Floats], Floats]
    every: float


@dataclass(frozen=True)
class Plant:
    """What a mechanism put into the log, and where it could have put it."""

    times: Floats = field(default_factory=lambda: np.zeros(0))
    windows: tuple[Span, ...] = ()
    figures: Mapping[str, float | str] = field(default_factory=dict)
    sensor: int = 0
    reading: Reading | None = None
    neighbour: Floats | None = None  # when another gate began to move


@dataclass(frozen=True)
class Mechanism:
    name: str
    plant: "Callable[[Scene], Plant]"
    family: tuple[str, ...]  # right answers, the best first
    near: tuple[str, ...] = ()  # true as far as it goes, but not the whole
    tempting: tuple[str, ...] = ()  # what the confounder makes one say wrongly
    confounder: str = ""
    wish: Wish = field(default_factory=Wish)
    shake: str = ""  # "once" or "chain": closing shakes the sensor; the gate's own life plants it
    from_gate: bool = False  # planted from the gate's movements, thus after them

    @property
    def null(self) -> bool:
        return "no_pattern" in self.family


@dataclass(frozen=True)
class Options:
    """What a person would tell the program; `roles` says in full what each word means."""

    zone: str
    dates: str
    words: Mapping[str, str]  # word -> trip, open, move, ignore
    roles: Mapping[str, str]
    columns: Mapping[str, str]  # time, event, sensor -> heading
    weather: str | None
    moves: str | None
    position: tuple[float, float] | None
    look: float | None


@dataclass(frozen=True)
class Truth:
    mechanism: str
    seed: int
    family: tuple[str, ...]
    near: tuple[str, ...]
    tempting: tuple[str, ...]
    confounder: str
    figures: Mapping[str, float | str]
    counts: Mapping[str, int]
    planted: tuple[float, ...]
    windows: tuple[Span, ...]
    outages: tuple[Span, ...]
    span: Span


@dataclass(frozen=True)
class Made:
    mechanism: str
    seed: int
    files: Mapping[str, str]
    options: Options
    truth: Truth
