"""All rows of a log, in order of time: what the gate wrote of vehicles, movements, service, power and trips."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from tests.trip_mechanisms.clock import Floats
from tests.trip_mechanisms.gate import Cycle
from tests.trip_mechanisms.model import Plant, Reading
from tests.trip_mechanisms.scene import Scene
from tests.trip_mechanisms.site import Site


@dataclass(frozen=True)
class Row:
    t: float
    word: str
    source: str
    kind: str  # what it is in truth: "vehicle", "genuine", "walk", "background", "planted", "move", ...
    seconds: float | None = None
    value: float | None = None


def rows_of(s: Scene, plant: Plant) -> list[Row]:
    """What falls into an outage was never written."""
    rows = [*_vehicles(s), *_moves(s), *_service(s), *_trips(s, plant), *_status(s.site, plant.reading)]
    kept = [r for r in rows if s.site.begin <= r.t < s.site.end and not _lost(s, r.t)]
    kept = sorted([*kept, *_power(s)], key=lambda r: r.t)
    return _with_values(kept, plant.reading)


def _lost(s: Scene, t: float) -> bool:
    return any(a <= t < b for a, b in s.outages)


def _vehicles(s: Scene) -> Iterable[Row]:
    lex, rng = s.site.lexicon, s.rng
    for v in s.vehicles:
        word, source = lex.openers[v.opener]
        yield Row(v.asked, word, source, "vehicle")
        for t in v.trips:
            sensor = int(rng.integers(s.site.wish.sensors))
            kind = "late" if v.late else "genuine"
            yield Row(t, lex.trip, lex.sensors[sensor], kind, float(rng.uniform(1.5, 10)))


def _moves(s: Scene) -> Iterable[Row]:
    shown = {"all": (0, 1, 2, 3), "ends": (1, 3), "closed": (3,), "none": ()}[s.site.moves]
    lex = s.site.lexicon
    for cycle in s.life.cycles if s.life else ():
        for i, t in enumerate(_moments(cycle)):
            if i in shown:
                yield Row(t, lex.moves[i], lex.motor, "closed" if i == 3 else "move")


def _moments(c: Cycle) -> tuple[float, ...]:
    return c.opening, c.opened, c.closing, c.closed


def _service(s: Scene) -> Iterable[Row]:
    lex = s.site.lexicon
    for walk in s.walks:
        if s.site.service_words:
            yield Row(walk.begin, lex.service[0], lex.panel, "service")
            yield Row(walk.end, lex.service[1], lex.panel, "service")
        yield from _sensed(s, walk.trips, "walk", (0.4, 6.0), 0)


def _trips(s: Scene, plant: Plant) -> Iterable[Row]:
    yield from _sensed(s, s.background, "background", (0.2, 2.5), None)
    yield from _sensed(s, plant.times, "planted", (0.2, 2.0), plant.sensor)


def _sensed(s: Scene, times: Floats, kind: str, seconds: tuple[float, float], sensor: int | None) -> Iterable[Row]:
    lex, rng = s.site.lexicon, s.rng
    for t in times:
        which = int(rng.integers(s.site.wish.sensors)) if sensor is None else sensor
        yield Row(float(t), lex.trip, lex.sensors[which], kind, float(rng.uniform(*seconds)))


def _power(s: Scene) -> Iterable[Row]:
    """That it goes is written only where the board lives a little longer."""
    lex = s.site.lexicon
    for begin, end in s.outages if s.site.power_words else ():
        if s.rng.random() < 0.4:
            yield Row(begin, lex.power[0], lex.panel, "power")
        yield Row(end, lex.power[1], lex.panel, "power")


def _status(site: Site, reading: Reading | None) -> Iterable[Row]:
    if reading is None:
        return
    for t in np.arange(site.begin + 7.0, site.end, reading.every):
        yield Row(float(t), site.lexicon.status, site.lexicon.panel, "status")


def _with_values(rows: list[Row], reading: Reading | None) -> list[Row]:
    if reading is None:
        return rows
    values = reading.at(np.array([r.t for r in rows]))
    return [replace(r, value=float(v)) for r, v in zip(rows, values, strict=True)]
