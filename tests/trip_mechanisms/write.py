"""Rows as text, in the columns and with the clock of the site."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

import numpy as np

from tests.trip_mechanisms.lexicon import Layout
from tests.trip_mechanisms.rows import Row
from tests.trip_mechanisms.site import Site
from tests.trip_mechanisms.weather import Weather


def stamps(site: Site, times: Sequence[float]) -> list[str]:
    """Cut to what the layout shows, never rounded up."""
    layout, t = site.layout, np.array(times)
    ahead = np.zeros(len(t)) if layout.offset == "z" else site.clock.offset(t)
    return [_stamp(layout, float(a), float(b)) for a, b in zip(t, ahead, strict=True)]


def _stamp(layout: Layout, t: float, ahead: float) -> str:
    ticks = int(t * 10**layout.digits)
    second, part = divmod(ticks, 10**layout.digits)
    text = datetime.fromtimestamp(second + ahead, UTC).strftime(layout.pattern)
    if layout.digits:
        text += f".{part:0{layout.digits}d}"
    return text + _zone(layout, ahead)


def _zone(layout: Layout, ahead: float) -> str:
    if not layout.offset:
        return ""
    if layout.offset == "z":
        return "Z"
    return f"{'-' if ahead < 0 else '+'}{abs(int(ahead)) // 3600:02d}:00"


def log_text(site: Site, rows: list[Row], reading: str | None) -> tuple[str, int]:
    """The text, and how many rows stand in it twice."""
    headings = [h for h, _ in site.layout.headings] + ([reading] if reading else [])
    lines = _lines(site, [headings, *_cells(site, rows, reading)])
    doubled = _doubles(site, len(rows))
    out = [lines[0]]
    for i, line in enumerate(lines[1:]):
        out += [line] * (2 if i in doubled else 1)
    return "".join(out) + _cut(site, lines[-1]), len(doubled)


def _cells(site: Site, rows: list[Row], reading: str | None) -> Iterable[list[str]]:
    for n, (row, stamp) in enumerate(zip(rows, stamps(site, [r.t for r in rows]), strict=True), 1):
        cell = {"time": stamp, "word": row.word, "source": row.source, "number": str(n), "seconds": _one(row.seconds)}
        yield [cell[k] for _, k in site.layout.headings] + ([f"{row.value:.2f}"] if reading else [])


def _one(number: float | None) -> str:
    return "" if number is None else f"{number:.1f}"


def _lines(site: Site, cells: Iterable[Sequence[str]]) -> list[str]:
    buffer = io.StringIO()
    dialect = "unix" if site.layout.quoted else "excel"  # the first quotes every cell
    csv.writer(buffer, dialect, delimiter=site.layout.delimiter, lineterminator="\n").writerows(cells)
    return buffer.getvalue().splitlines(keepends=True)


def _doubles(site: Site, n: int) -> set[int]:
    """Some logs write a row twice now and then."""
    if site.rng.random() < 0.5:
        return set()
    return {int(i) for i in site.rng.integers(0, n, max(2, n // 80))}


def _cut(site: Site, last: str) -> str:
    """Some logs end in the middle of a row, where the copy was stopped."""
    if site.rng.random() < 0.7:
        return ""
    return last[: int(len(last) * site.rng.uniform(0.25, 0.8))].rstrip()


def weather_text(site: Site, w: Weather) -> str:
    metric = site.rng.random() < 0.5
    head = (
        ("time", "rain_mm", "wind_kmh", "temp_c", "humidity_pct", "visibility_m")
        if metric
        else ("Time", "Rain (mm)", "Wind (m/s)", "Temperature (C)", "Humidity (%)", "Visibility (km)")
    )
    wind, sight = (w.wind, w.visibility) if metric else (w.wind / 3.6, w.visibility / 1000)
    columns = zip(_hours(site, w), w.rain, wind, w.temperature, w.humidity, sight, strict=True)
    rows = [[t, *(f"{x:.{d}f}" for x, d in zip(rest, (1, 1, 1, 0, 2), strict=True))] for t, *rest in columns]
    return "\n".join(",".join(r) for r in [list(head), *rows]) + "\n"


def _hours(site: Site, w: Weather) -> list[str]:
    """Always with the offset, since an hour of the wall may come twice."""
    return [
        datetime.fromtimestamp(t + a, UTC).strftime("%Y-%m-%dT%H:%M:%S") + _zone(Layout((), "", offset="local"), a)
        for t, a in zip(w.t.tolist(), site.clock.offset(w.t).tolist(), strict=True)
    ]


def neighbour_text(site: Site, starts: Sequence[float]) -> str:
    cells = [[t, "gate moves"] for t in stamps(site, starts)]
    return "".join(_lines(site, [["time", "event"], *cells]))
