"""The first seconds after somebody opens belong to the vehicle: neither their trips nor their time is counted.

What was set aside is the first trip after an opening; a trailer, a second axle or the car behind trips once more.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from diagnose.triplog.episodes import joined, since_latest
from diagnose.triplog.records import Bools, Floats, Log

LEAST_OPENINGS = 10
USUAL_S = 45.0
_MORE_S = 15.0
_LONGEST_S = 120.0
_LATEST = 0.99
_AFTER_CLOSING_S = 5.0
"""What comes so soon after the gate has shut is not the vehicle it was opened for."""


@dataclass(frozen=True, slots=True)
class Near:
    """How many trips were left out, how many seconds after each opening, and those stretches, in order and apart."""

    trips: int
    seconds: float
    spans: Floats = field(default_factory=lambda: np.zeros((0, 2)), repr=False)


NO_VEHICLES = Near(0, 0.0)


def beside_vehicles(log: Log) -> tuple[Log, Near]:
    """The log without the seconds after openings."""
    if len(log.opens) < LEAST_OPENINGS:
        return log, NO_VEHICLES
    seconds = _window(log)
    since = since_latest(log.trips, log.opens)
    kept = (since > seconds) | (since_latest(log.trips, log.closes) <= _AFTER_CLOSING_S) | _on_the_way_back(log)
    if not kept.any():
        return log, NO_VEHICLES
    durations = log.durations[kept] if len(log.durations) == len(kept) else log.durations
    spans = joined(np.stack([log.opens, log.opens + seconds], axis=1))
    rest = replace(log, trips=log.trips[kept], sensor=log.sensor[kept], durations=durations)
    return rest, Near(int((~kept).sum()), seconds, spans)


def _on_the_way_back(log: Log) -> Bools:
    """Trips after the gate has begun to close since it was opened: the vehicle is through."""
    return np.asarray(since_latest(log.trips, log.closing) < since_latest(log.trips, log.opens))


def _window(log: Log) -> float:
    """How long after an opening vehicles came that were set aside, and some more."""
    came = [since_latest(a.times, log.opens) for a in log.aside if len(a.times)]
    delays = np.concatenate(came) if came else np.zeros(0)
    delays = delays[delays <= _LONGEST_S]
    latest = float(np.quantile(delays, _LATEST)) if len(delays) >= LEAST_OPENINGS else USUAL_S
    return min(latest + _MORE_S, _LONGEST_S)
