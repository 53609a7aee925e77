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
    return moves[since_latest(moves, trips) > gap_s]


def since_latest(times: Floats, moments: Floats) -> Floats:
    """Seconds from the latest of the rising `moments` to each time, endless before the first."""
    if not len(moments):
        return np.full(len(times), np.inf)
    at = np.searchsorted(moments, times, "right") - 1
    return np.where(at >= 0, times - moments[np.maximum(at, 0)], np.inf)


def joined(spans: Floats) -> Floats:
    """Stretches (begin, end) in order of time, those that touch made one."""
    if not len(spans):
        return spans
    spans = spans[np.argsort(spans[:, 0])]
    latest = np.maximum.accumulate(spans[:, 1])
    first = np.concatenate([[True], spans[1:, 0] > latest[:-1]])
    return np.stack([spans[first, 0], latest[np.append(first[1:], True)]], axis=1)


def resolution(times: Floats) -> float:
    """The step that all times are written in: 60, 1, or less than a second."""
    for step in (60.0, 1.0):
        if len(times) and (np.abs(times / step - np.round(times / step)) < 1e-6).all():
            return step
    return 0.1
