"""Bursts of trips -> episodes, so that one event at the gate counts once in every test."""

import numpy as np

from diagnose.triplog.records import Floats, Ints, Log

GAP_S = 120.0
"""A trip this soon after the one before, from whichever sensor, belongs to the same episode (judgement)."""


def starts(trips: Floats, gap_s: float = GAP_S) -> Ints:
    """Indices of the trips that open an episode. `trips` must be rising."""
    if not len(trips):
        return np.zeros(0, np.int64)
    return np.flatnonzero(np.concatenate(([True], np.diff(trips) > gap_s)))


def per_sensor(log: Log, gap_s: float = GAP_S) -> list[int]:
    """Episodes of each sensor on its own."""
    return [len(starts(log.trips[log.sensor == s], gap_s)) for s in range(len(log.sensors))]


def unprompted(moves: Floats, trips: Floats, gap_s: float = GAP_S) -> Floats:
    """Movements that no trip came shortly before: the others may be the gate's answer to the trip."""
    if not len(trips):
        return moves
    before = np.searchsorted(trips, moves, "right") - 1
    since = np.where(before >= 0, moves - trips[np.maximum(before, 0)], np.inf)
    return moves[since > gap_s]
