"""Two loggers, two clocks: how far the second runs ahead of the first, by the vehicles that both see."""

from dataclasses import replace

import numpy as np

from diagnose.triplog.exact import at_least
from diagnose.triplog.records import Floats, Log
from diagnose.triplog.vehicles import delays

REACH_S = 1800.0
_STEP_S = 5.0
_FEWEST = 20
_BY_CHANCE = 1e-6
AHEAD_S = 45.0
"""Nearer together, it may be the way from one sensor to the other (judgement)."""


def every(log_: Log) -> Floats:
    """Every trip of a log, whatever it was set aside as."""
    return np.sort(np.concatenate([log_.trips, *(a.times for a in log_.aside)]))


def ahead(first: Log, second: Log) -> float:
    """Seconds by which the second clock runs ahead; 0 where nothing shows that it does."""
    apart = delays(every(first), every(second), -REACH_S, REACH_S)
    if len(apart) < _FEWEST:
        return 0.0
    counted = np.histogram(apart, int(2 * REACH_S / _STEP_S), (-REACH_S, REACH_S))[0]
    near = counted[:-1] + counted[1:]  # a peak on the edge of two steps is one
    at = int(np.argmax(near))
    share = 2 / len(counted)
    chance = at_least(float(near[at]), float(len(apart)), share) * len(near)
    middle = (at + 1) * _STEP_S - REACH_S
    if near[at] < _FEWEST or chance > _BY_CHANCE or abs(middle) < AHEAD_S:
        return 0.0
    peak = apart[np.abs(apart - middle) <= _STEP_S]
    return float(np.median(peak))


def set_back(log_: Log, seconds: float) -> Log:
    """A log as a clock that runs so much less ahead would have written it."""
    aside = tuple(replace(a, times=a.times - seconds) for a in log_.aside)
    return replace(
        log_, trips=log_.trips - seconds, opens=log_.opens - seconds, closes=log_.closes - seconds, aside=aside,
        begin=log_.begin - seconds, end=log_.end - seconds, outages=log_.outages - seconds,
    )  # fmt: skip
