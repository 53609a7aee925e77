"""Numeric columns of the log that nobody named beforehand: volts, signal strength, a temperature."""

import numpy as np

from diagnose.triplog.conditions import latest
from diagnose.triplog.grid import HOUR_S, Grid
from diagnose.triplog.records import Floats, Log, Tested
from diagnose.triplog.scan import best_mask
from diagnose.words import say

_PARTS = (0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98)
_HOLDS_S = 8 * HOUR_S
_LEAST_READINGS = 30
_MOST_AT_TRIPS = 0.5
_APART = 0.5


def reading_tests(grid: Grid, log: Log) -> list[Tested]:
    """For each column the limit, below or above, that tells most; all columns together are one search."""
    found = []
    usable = {name: c for name, c in log.columns.items() if _usable(log, *c)}
    for name, (times, values) in usable.items():
        reading = latest(grid.middle, times, values, _HOLDS_S)
        if test := _limit(name, grid, reading, len(usable)):
            found.append(test)
    return sorted(found, key=lambda t: -t.log_bayes)[:1]


def _usable(log: Log, times: Floats, values: Floats) -> bool:
    """A column that is written only with trips says nothing of the time between them."""
    known = ~np.isnan(values)
    if known.sum() < _LEAST_READINGS or len(np.unique(values[known])) < 3:
        return False
    trips = np.concatenate([log.trips, *(a.times for a in log.aside)])
    return bool(np.isin(times[known], trips).mean() <= _MOST_AT_TRIPS)


def _limit(name: str, grid: Grid, reading: Floats, columns: int) -> Tested | None:
    known = ~np.isnan(reading) & (grid.exposure > 0)
    if not known.any():
        return None
    masks = []
    for limit in np.unique(np.quantile(reading[known], _PARTS)):
        masks.append((say("triplog.at_or_under", column=name, limit=f"{limit:.4g}"), reading <= limit))
        masks.append((say("triplog.at_or_over", column=name, limit=f"{limit:.4g}"), reading >= limit))
    return best_mask("column", grid, masks, known, _APART * len(masks) * columns)
