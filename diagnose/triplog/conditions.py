"""Weather and sky as sets of steps: when it rained, blew, froze, was foggy, hot, dark, or glared."""

from collections.abc import Mapping

import numpy as np

from diagnose.triplog.grid import STEP_S, Grid
from diagnose.triplog.records import Bools, Floats, Place, Tested, Weather
from diagnose.triplog.scan import best_mask
from diagnose.triplog.sky import DARK_DEG, below_horizon, glaring
from diagnose.words import say

RAIN_MM_H = (0.1, 1.0, 4.0)
AFTER_RAIN_H = (1.0, 3.0, 6.0)
WIND_M_S = (6.0, 8.0, 11.0, 14.0)
"""Steps near Beaufort 4, 5, 6 and 7: 5.5, 8.0, 10.8 and 13.9 m/s."""
FROST_C = (3.0, 0.0, -5.0)
HEAT_C = (25.0, 30.0, 35.0)
FOG_M = (1000.0, 500.0, 200.0)
"""Fog: visibility under 1 km (World Meteorological Organization)."""
DAMP_PERCENT = (97.0, 99.0)
"""Stands for fog where no visibility was recorded (judgement)."""
NEAR_DEG = (5.0, 10.0, 15.0)
_LONGEST_HOLD_S = 3 * 3600.0


def held(grid: Grid, weather: Weather, name: str) -> Floats:
    """One reading at every step: the last one before, not-a-number where that is too old."""
    values = weather.values.get(name)
    if values is None or not len(weather.times):
        return np.full(len(grid.middle), np.nan)
    usual = float(np.median(np.diff(weather.times))) if len(weather.times) > 1 else STEP_S
    at = np.searchsorted(weather.times, grid.middle, "right") - 1
    age = np.where(at >= 0, grid.middle - weather.times[np.maximum(at, 0)], np.inf)
    return np.where(age <= min(max(2 * usual, STEP_S), _LONGEST_HOLD_S), values[np.maximum(at, 0)], np.nan)


def weather_tests(grid: Grid, weather: Weather) -> list[Tested]:
    """Every weather test the readings allow."""
    at = {name: held(grid, weather, name) for name in ("rain", "wind", "temperature", "humidity", "visibility")}
    found = [*_rain(grid, at["rain"]), _above("wind", grid, at["wind"], WIND_M_S, "wind")]
    found.append(_above("frost", grid, -at["temperature"], [-t for t in FROST_C], "frost", -1))
    found.append(_above("heat", grid, at["temperature"], HEAT_C, "heat"))
    found.append(_fog(grid, at))
    return [t for t in found if t]


def _above(
    name: str, grid: Grid, values: Floats, limits: tuple[float, ...] | list[float], what: str, sign: int = 1
) -> Tested | None:
    masks = [(say(f"triplog.at_{what}", limit=f"{sign * limit:g}"), values >= limit) for limit in limits]
    return best_mask(name, grid, masks, ~np.isnan(values))


def _rain(grid: Grid, rain: Floats) -> list[Tested | None]:
    known = ~np.isnan(rain)
    wet = rain >= RAIN_MM_H[0]
    since = _since(grid.middle, wet)
    dry = known & (since > AFTER_RAIN_H[-1] * 3600)
    raining = [(say("triplog.at_rain", limit=f"{limit:g}"), rain >= limit) for limit in RAIN_MM_H]
    after = [(say("triplog.at_after_rain", hours=f"{h:g}"), ~wet & (since <= h * 3600)) for h in AFTER_RAIN_H]
    falling = best_mask("rain", grid, raining, dry | wet)
    return [falling, best_mask("after_rain", grid, after, known & ~wet)]


def _since(middle: Floats, wet: Bools) -> Floats:
    """Seconds since it last rained, endless before the first rain."""
    last = np.maximum.accumulate(np.where(wet, middle, -np.inf))
    return middle - last


def _fog(grid: Grid, at: Mapping[str, Floats]) -> Tested | None:
    sight, damp = at["visibility"], at["humidity"]
    if not np.isnan(sight).all():
        return _above("fog", grid, -sight, [-v for v in FOG_M], "fog", -1)
    wet = np.nan_to_num(at["rain"]) >= RAIN_MM_H[0]
    masks = [(say("triplog.at_damp", limit=f"{p:g}"), (damp >= p) & ~wet) for p in DAMP_PERCENT]
    return best_mask("fog", grid, masks, ~np.isnan(damp))


def sky_tests(grid: Grid, place: Place) -> list[Tested]:
    """Darkness, and the sun or its mirror image near a direction that a device looks along."""
    dark = say("triplog.at_dark", degrees=f"{-DARK_DEG:g}")
    found = [best_mask("dark", grid, [(dark, below_horizon(grid.middle, place))])]
    masks = glaring(grid.middle, place, NEAR_DEG)
    for name in ("low_sun", "mirrored_sun"):
        found.append(best_mask(name, grid, masks[name]) if masks[name] else None)
    return [t for t in found if t]
