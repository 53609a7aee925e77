"""Where trips come from: one sensor among several; and what an even rate would give after a movement."""

import numpy as np

from diagnose.triplog.episodes import GAP_S, per_sensor, since_latest, starts, unprompted
from diagnose.triplog.exact import fisher
from diagnose.triplog.grid import HOUR_S, Grid
from diagnose.triplog.records import Count, Floats, Log, Tested
from diagnose.triplog.scan import tested
from diagnose.words import say

_SHOWN_S = 60.0
LEANS_AT = 0.05


def lags(log: Log, gap_s: float = GAP_S) -> Floats:
    """Seconds from the latest unprompted movement to each episode, endless before the first."""
    episodes, moves = log.trips[starts(log.trips, gap_s)], unprompted(log.moves, log.trips, gap_s)
    return since_latest(episodes, moves)


def _density(grid: Grid, moves: Floats) -> Floats:
    """Exposure per second around each movement, averaged over its hour."""
    step = float(grid.middle[1] - grid.middle[0]) if len(grid.middle) > 1 else HOUR_S
    seconds = np.bincount(grid.hours) * step
    return np.asarray((np.bincount(grid.hours, grid.exposure) / seconds)[grid.hours_of(moves)])


def expected_per_second(log: Log, grid: Grid, gap_s: float = GAP_S) -> float:
    """Share of the exposure in each second of the first minute after an unprompted movement."""
    moves = unprompted(log.moves, log.trips, gap_s)
    room = np.clip(np.diff(np.append(moves, log.end)), 0, _SHOWN_S)
    return float((_density(grid, moves) * room).sum()) / _SHOWN_S if len(moves) else 0.0


def leaning(log: Log, grid: Grid, pattern: Tested, gap_s: float = GAP_S) -> str:
    """The sensor that a pattern shows on more than on the others, '' if none; Fisher's exact test, each one's p
    multiplied by the number of sensors. Each episode counts for the sensor that opened it."""
    sensor = log.sensor[starts(log.trips, gap_s)]
    if pattern.weight is None or len(log.sensors) < 2:
        return ""
    inside = (pattern.weight > pattern.weight.min())[grid.at]
    found: list[tuple[float, str]] = []
    for number, name in enumerate(log.sensors):
        mine = sensor == number
        a, b = int((mine & inside).sum()), int((mine & ~inside).sum())
        c, d = int((~mine & inside).sum()), int((~mine & ~inside).sum())
        if a * d > b * c:
            found.append((fisher(a, b, c, d) * len(log.sensors), name))
    p, name = min(found, default=(1.0, ""))
    return name if p <= LEANS_AT else ""


def one_sensor(log: Log, gap_s: float = GAP_S) -> Tested | None:
    """The busiest sensor against an equal share for each."""
    counts = per_sensor(log, gap_s)
    if len(counts) < 2:
        return None
    busiest = int(np.argmax(counts))
    count = Count(
        say("triplog.from_sensor", sensor=log.sensors[busiest]), counts[busiest], sum(counts), 1 / len(counts)
    )
    return tested("one_sensor", count, len(counts))
