"""Where trips come from: the gate's own movement, or one sensor among several."""

from itertools import combinations

import numpy as np

from diagnose.triplog.episodes import GAP_S, per_sensor, starts, unprompted
from diagnose.triplog.exact import fisher
from diagnose.triplog.grid import HOUR_S, Grid
from diagnose.triplog.records import Count, Floats, Log, Tested
from diagnose.triplog.scan import gain, tested
from diagnose.words import say

LAG_EDGES_S = (0.0, 2.0, 5.0, 10.0, 20.0, 40.0, 60.0)
_LEAST_MOVES = 10
LEANS_AT = 0.05


def lags(log: Log, gap_s: float = GAP_S) -> Floats:
    """Seconds from the latest unprompted movement to each episode, endless before the first."""
    episodes, moves = log.trips[starts(log.trips, gap_s)], unprompted(log.moves, log.trips, gap_s)
    if not len(moves):
        return np.full(len(episodes), np.inf)
    last = np.searchsorted(moves, episodes, "right") - 1
    return np.where(last >= 0, episodes - moves[np.maximum(last, 0)], np.inf)


def after_movement(log: Log, grid: Grid, gap_s: float = GAP_S) -> Tested | None:
    """Trips in a window of seconds after the gate began to move, against exposure in such windows."""
    moves = unprompted(log.moves, log.trips, gap_s)
    if len(moves) < _LEAST_MOVES or not len(grid.episodes):
        return None
    since, n = lags(log, gap_s), len(grid.episodes)
    density = _density(grid, moves)
    room = np.diff(np.append(moves, log.end))
    counts = [
        Count(
            say("triplog.after_moving", first=f"{a:g}", last=f"{b:g}"),
            int(((since >= a) & (since < b)).sum()),
            n,
            min(0.999, float((density * (np.clip(room, a, b) - a)).sum())),
        )
        for a, b in combinations(LAG_EDGES_S, 2)
    ]
    return tested("while_moving", max(counts, key=gain), len(counts))


def _density(grid: Grid, moves: Floats) -> Floats:
    """Exposure per second around each movement, averaged over its hour."""
    step = float(grid.middle[1] - grid.middle[0]) if len(grid.middle) > 1 else HOUR_S
    hours = ((grid.middle - grid.middle[0]) // HOUR_S).astype(np.int64)
    seconds = np.bincount(hours) * step
    at = np.clip(((moves - grid.middle[0]) // HOUR_S).astype(np.int64), 0, len(seconds) - 1)
    return np.asarray((np.bincount(hours, grid.exposure) / seconds)[at])


def expected_per_second(log: Log, grid: Grid, gap_s: float = GAP_S) -> float:
    """Share of the exposure in each second of the first minute after an unprompted movement."""
    moves = unprompted(log.moves, log.trips, gap_s)
    room = np.clip(np.diff(np.append(moves, log.end)), 0, LAG_EDGES_S[-1])
    return float((_density(grid, moves) * room).sum()) / LAG_EDGES_S[-1] if len(moves) else 0.0


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
