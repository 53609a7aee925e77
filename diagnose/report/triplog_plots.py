"""The plots of a trip log: date against time of day, hours, the sun's path, and seconds after a movement."""

from math import cos, pi, radians, sin

import numpy as np

from diagnose.report.svg import DESK, Plot, Width, ticks
from diagnose.triplog.conditions import RAIN_MM_H, held
from diagnose.triplog.grid import HOUR_S, STEP_S, Grid
from diagnose.triplog.records import DAY_S, Bools, Floats, Log, Place
from diagnose.triplog.sky import below_horizon, glaring, sun_vectors
from diagnose.words import say

NEAR_DEG = 10.0
LAG_S, LAG_STEP_S = 60, 2
_LEAST_AZIMUTH_SCALE = 0.2
Spans = list[tuple[float, float, float, float]]


def raster(log: Log, grid: Grid, width: Width = DESK) -> str:
    """Every episode by date and local time of day, over night, rain and the hours with the sun near a look."""
    days = grid.local // DAY_S
    first, last = float(days[0]), float(days[-1]) + 1
    plot = Plot(say("triplog.plot_dates"), (first, last), (0, 24), say("triplog.legend_dots"), 380, width)
    if log.place:
        plot.boxes(_spans(grid, below_horizon(grid.middle, log.place)), "night")
        glare = glaring(grid.middle, log.place, (NEAR_DEG,))
        masks = [mask for pairs in glare.values() for _, mask in pairs]
        plot.boxes(_spans(grid, np.any(masks, axis=0)) if masks else [], "sun")
    if log.weather:
        plot.boxes(_spans(grid, held(grid, log.weather, "rain") >= RAIN_MM_H[0]), "rain")
    local = log.clock.local(grid.episodes)
    plot.dots(_points(local // DAY_S + 0.5, local % DAY_S / HOUR_S), "trip")
    across = [(d + 0.5, str(np.datetime64(int(d), "D"))) for d in ticks(first, last, _some(7, width)) if d < last]
    return plot.drawn(
        across, [(h, f"{h}:00") for h in range(0, 25, 4)], say("triplog.axis_date"), say("triplog.axis_time")
    )


def _some(most: int, width: Width) -> int:
    """How many ticks have room."""
    return max(2, int(most * width.few))


def _points(x: Floats, y: Floats) -> list[tuple[float, float]]:
    return list(zip(x.tolist(), y.tolist(), strict=True))


def _spans(grid: Grid, inside: Bools) -> Spans:
    """Runs of steps as boxes (day, hour, day + 1, hour), cut at midnight."""
    day = (grid.local // DAY_S).astype(np.int64)
    breaks = np.flatnonzero((np.diff(inside.astype(int)) != 0) | (np.diff(day) != 0)) + 1
    starts = np.concatenate(([0], breaks))
    ends = np.concatenate((breaks, [len(inside)])) - 1
    hour, half = grid.hour, STEP_S / HOUR_S / 2
    return [
        (float(day[a]), float(hour[a]) - half, float(day[a]) + 1, float(hour[b]) + half)
        for a, b in zip(starts, ends, strict=True)
        if inside[a]
    ]


def hours(grid: Grid, width: Width = DESK) -> str:
    """Episodes per hour of the day, and what exposure alone would give."""
    at = np.minimum(grid.hour.astype(int), 23)
    counted = np.bincount(at[grid.at], minlength=24)
    expected = np.bincount(at, grid.exposure, 24) * len(grid.episodes)
    top = float(max(counted.max(), expected.max(), 1)) * 1.08
    plot = Plot(say("triplog.plot_hours"), (0, 24), (0, top), say("triplog.legend_bars"), 240, width)
    plot.boxes([(h + 0.1, 0, h + 0.9, float(c)) for h, c in enumerate(counted)], "bar")
    plot.line([(x, float(e)) for h, e in enumerate(expected) for x in (h, h + 1)], "expected")
    across = [(float(h), f"{h}:00") for h in range(0, 25, 3 if width is DESK else 6)]
    return plot.drawn(across, _plain(ticks(0, top, 5)), say("triplog.axis_time"), say("triplog.axis_episodes"))


def lag(lags: Floats, expected: float, width: Width = DESK) -> str:
    """Episodes by seconds since the latest movement; `expected` per step from exposure."""
    counted = np.histogram(lags[lags < LAG_S], LAG_S // LAG_STEP_S, (0, LAG_S))[0]
    top = float(max(counted.max(), expected, 1)) * 1.08
    plot = Plot(say("triplog.plot_lag"), (0, LAG_S), (0, top), say("triplog.legend_bars"), 240, width)
    step = LAG_STEP_S
    plot.boxes([(i * step + 0.2, 0, (i + 1) * step - 0.2, float(c)) for i, c in enumerate(counted)], "bar")
    plot.line([(0, expected), (LAG_S, expected)], "expected")
    seconds, episodes = say("triplog.axis_seconds"), say("triplog.axis_episodes")
    return plot.drawn(_plain(ticks(0, LAG_S, 7)), _plain(ticks(0, top, 5)), seconds, episodes)


def sun_path(log: Log, grid: Grid, place: Place, width: Width = DESK) -> str:
    """The sun on the first, middle and last day and at each episode, and where devices look."""
    plot = Plot(say("triplog.plot_sun"), (0, 360), (-20, 90), say("triplog.legend_path"), 340, width)
    plot.line([(0, 0), (360, 0)], "horizon")
    for middle in (log.begin, (log.begin + log.end) / 2, log.end):
        day = middle - middle % DAY_S + np.arange(0, DAY_S, 600)
        for run in _unbroken(*_angles(day, place)):
            plot.line(run, "path")
    azimuth, up = _angles(grid.episodes, place)
    plot.dots(_points(azimuth[up > 0], up[up > 0]), "trip")
    for look in place.looks:
        x, y = look.direction.azimuth_deg % 360, look.direction.elevation_deg
        for ring in (5, 10, 15):
            plot.line([_around(x, y, ring, k) for k in range(49)], "ring", closed=True)
        plot.text(x + 12, y - 14, look.name)
    compass = [(float(at), say(f"triplog.compass_{at % 360}")) for at in range(0, 361, 90)]
    heights = [(float(d), f"{d}°") for d in range(0, 91, 15)]
    return plot.drawn(compass, heights, say("triplog.axis_azimuth"), say("triplog.axis_height"))


def _angles(times: Floats, place: Place) -> tuple[Floats, Floats]:
    vectors = sun_vectors(times, place) if len(times) else np.zeros((0, 3))
    azimuth = np.degrees(np.arctan2(vectors[:, 0], vectors[:, 1])) % 360
    return azimuth, np.degrees(np.arcsin(np.clip(vectors[:, 2], -1, 1)))


def _unbroken(azimuth: Floats, up: Floats) -> list[list[tuple[float, float]]]:
    """Runs of the path above -20 degrees that do not jump from 360 to 0."""
    seen = up > -20
    runs: list[list[tuple[float, float]]] = [[]]
    for i in range(len(up)):
        if not seen[i] or (i and abs(azimuth[i] - azimuth[i - 1]) > 180):
            runs.append([])
        if seen[i]:
            runs[-1].append((float(azimuth[i]), float(up[i])))
    return [run for run in runs if len(run) > 1]


def _around(x: float, y: float, ring: float, step: int) -> tuple[float, float]:
    """A circle on the sky, widened in azimuth the higher it lies."""
    turn = step * 2 * pi / 48
    high = y + ring * sin(turn)
    return x + ring * cos(turn) / max(cos(radians(high)), _LEAST_AZIMUTH_SCALE), high


def _plain(values: list[float]) -> list[tuple[float, str]]:
    return [(v, f"{v:g}") for v in values]
