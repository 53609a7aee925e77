"""Darkness and traffic together: headlights need both, so there are none by day and few in the small hours."""

import numpy as np

from diagnose.triplog.grid import Grid, kind_of_hour, weekday
from diagnose.triplog.records import Floats, Log, Place, Tested
from diagnose.triplog.sun_table import sun_steps
from diagnose.triplog.traffic import as_tested, blended, traffic_of
from diagnose.words import say

ROAD_WORKING = np.array([1, 0.5, 0.3, 0.3, 1, 3, 8, 13, 11, 8, 7, 7, 7, 7, 8, 10, 13, 13, 10, 7, 5, 4, 3, 2.0])
ROAD_FREE = np.array([2, 1.5, 1, 0.6, 0.5, 0.7, 1, 2, 4, 6, 7, 7, 7, 6, 6, 7, 7, 7, 6, 5, 4, 3.5, 3, 2.5])
"""Vehicles on an ordinary road by hour of a working day and of a weekend day, relative (judgement)."""
_FALLS_DEG = ((-1.0, -5.0), (-3.0, -7.0), (-6.0, -10.0))
"""Between these heights of the sun headlights come to tell."""
_LEAST_TRAFFIC = 200


def headlights(grid: Grid, log: Log, place: Place) -> Tested | None:
    """Trips in the dark by the traffic on the road, or at the gate, of the hour."""
    if not len(grid.at):
        return None
    up = sun_steps(grid.middle, place)[1]
    shapes = [(say("triplog.usual_road"), road_traffic(grid))]
    if len(own := traffic_of(log)[0]) >= _LEAST_TRAFFIC:
        shapes.append((say("triplog.site_traffic"), _usual(grid, log, own)))
    found = [
        (*fit, density, what)
        for what, shape in shapes
        for fall in _FALLS_DEG
        if (fit := _fit(grid, density := _dark(up, *fall) * shape))
    ]
    if not found:
        return None
    gain, share, density, what = max(found, key=lambda f: f[0])
    density = density / float((grid.exposure * density).sum())
    return as_tested("road_lights", grid, density, share, gain, say("triplog.in_dark_by", what=what), len(found))


def _fit(grid: Grid, shape: Floats) -> tuple[float, float] | None:
    """What a blend with this shape gains, and its share; None where it never applies."""
    mean = float((grid.exposure * shape).sum())
    if not mean > 0:
        return None
    share, gain = blended(shape[grid.at] / mean)
    return gain, share


def road_traffic(grid: Grid) -> Floats:
    """An ordinary road's traffic at each step."""
    hour = grid.hour.astype(np.int64) % 24
    return np.where(weekday(grid.local) >= 5, ROAD_FREE[hour], ROAD_WORKING[hour])


def _usual(grid: Grid, log: Log, traffic: Floats) -> Floats:
    """The site's own traffic by hour, working days apart from weekends."""
    kind = kind_of_hour(grid.local)
    counted = np.bincount(kind_of_hour(log.clock.local(traffic)), minlength=48)
    lasting = np.bincount(kind, grid.exposure, 48)
    return np.asarray((counted / np.maximum(lasting, 1e-12))[kind])


def _dark(up: Floats, begins: float, whole: float) -> Floats:
    return np.clip((begins - up) / (begins - whole), 0, 1)
