"""Lines of a weather table -> readings in fixed units. A unit that the heading does not name is asked."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.triplog.cells import cells
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.layout import Layout, stamp_text
from diagnose.triplog.records import Clock, Floats, TripLogError, Weather
from diagnose.triplog.rows import Bad, Rows, placed
from diagnose.triplog.stamps import Stamps
from diagnose.words import say

AMOUNT = "mm"
_NAMES = {
    "rain": r"rain|precip",
    "wind": r"wind|gust",
    "temperature": r"temp",
    "humidity": r"humid|^rh\b|^rh_",
    "visibility": r"visib|^vis\b|^vis_",
}
_NOT = r"dew|dir|feel|chill|min|max"
UNITS: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "rain": {"mm/h": (1.0, 0.0), AMOUNT: (1.0, 0.0)},
    "wind": {"m/s": (1.0, 0.0), "km/h": (1 / 3.6, 0.0), "mph": (0.44704, 0.0), "kn": (1852 / 3600, 0.0)},
    "temperature": {"C": (1.0, 0.0), "F": (5 / 9, -160 / 9)},
    "humidity": {"%": (1.0, 0.0)},
    "visibility": {"m": (1.0, 0.0), "km": (1000.0, 0.0), "mi": (1609.344, 0.0)},
}
"""Unit -> factor and what is added, to mm/h (or mm per reading), m/s, °C, % and m."""
_SPELT = {
    "mm/h": r"mm\s*/\s*h|mm_h|mmh|mm\s+per\s+h",
    "mm": r"mm",
    "m/s": r"m\s*/\s*s|m_s|\bms\b|_ms|mps",
    "km/h": r"km\s*/\s*h|km_h|kmh|kph",
    "mph": r"mph",
    "kn": r"\bkn\b|_kn\b|_kt|\bkts?\b|knot",
    "C": r"°\s*c|_c\b|\bc\b|cels|degc",
    "F": r"°\s*f|_f\b|\bf\b|fahr|degf",
    "%": r".*",
    "km": r"\bkm\b|_km\b",
    "mi": r"\bmi\b|_mi\b|mile",
    "m": r"\bm\b|_m\b|met(er|re)",
}


@dataclass(frozen=True, slots=True)
class Column:
    """A reading's column, and how to turn it into the fixed unit."""

    at: int
    unit: str


def find_columns(names: Sequence[str], said: Mapping[str, str]) -> dict[str, Column] | FileQuestion:
    """The readings a heading offers. Raises TripLogError when it offers none."""
    found: dict[str, Column] = {}
    for reading, pattern in _NAMES.items():
        fits = [i for i, n in enumerate(names) if re.search(pattern, n.casefold()) and not _aside(n)]
        fits = [i for i in fits if "gust" not in names[i].casefold()] or fits
        if not fits:
            continue
        unit = said.get(f"unit {reading}") or _unit(reading, names[fits[0]])
        if unit not in UNITS[reading]:
            options = {u: u if u != AMOUNT else say("triplog.mm_each") for u in UNITS[reading]}
            asks = say("triplog.ask_unit", column=names[fits[0]])
            return FileQuestion(f"unit {reading}", asks, options, f"--unit '{reading}={'|'.join(options)}'")
        found[reading] = Column(fits[0], unit)
    if not found:
        wanted = ", ".join(_NAMES)
        raise TripLogError(say("triplog.no_weather", columns=", ".join(names), wanted=wanted))
    return found


def _aside(name: str) -> bool:
    return re.search(_NOT, name.casefold()) is not None


def _unit(reading: str, name: str) -> str:
    fits = [u for u in UNITS[reading] if re.search(_SPELT[u], name.casefold())]
    return fits[0] if fits else ""


def read_weather(
    lines: Iterable[str], layout: Layout, columns: Mapping[str, Column], clock: Clock
) -> tuple[Weather, Bad]:
    """Readings of every usable row, in order of time."""
    bad, reader = Bad(), Stamps(layout.format)
    taken: list[tuple[float, float, int]] = []
    values: list[list[float]] = []
    last = max(layout.time, layout.date)
    for number, line in enumerate(lines, start=1):
        if number <= layout.above or not line.strip():
            continue
        row = cells(line, layout.delimiter)
        stamp = reader.read(stamp_text(row, layout.time, layout.date)) if len(row) > last else None
        if stamp is None:
            bad.add(say("triplog.bad_time"), number, line)
            continue
        taken.append((stamp[0], np.nan if stamp[1] is None else stamp[1], number))
        values.append([_number(row[c.at] if c.at < len(row) else "") for c in columns.values()])
    if not taken:
        raise TripLogError(say("triplog.weather_times"))
    return _in_units(taken, np.array(values), columns, clock, bad), bad


def _number(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return np.nan


def _in_units(
    taken: list[tuple[float, float, int]], values: Floats, columns: Mapping[str, Column], clock: Clock, bad: Bad
) -> Weather:
    stamps = np.array(taken)
    order = np.arange(len(taken), dtype=np.int64)
    rows = Rows(stamps[:, 0], stamps[:, 1], order, order, stamps[:, 2].astype(np.int64), (), bad, len(taken))
    kept, utc, _ = placed(rows, clock)
    values, sort = values[kept.kind], np.argsort(utc, kind="stable")
    times = utc[sort]
    hours = float(np.median(np.diff(times))) / 3600 if len(times) > 1 else 1.0
    out: dict[str, Floats] = {}
    for at, (reading, column) in enumerate(columns.items()):
        factor, more = UNITS[reading][column.unit]
        out[reading] = values[sort, at] * factor / (hours if column.unit == AMOUNT else 1.0) + more
    return Weather(times, out)
