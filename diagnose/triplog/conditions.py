"""Weather and sky as sets of steps: when it rained, blew, froze, was foggy, hot, dark, or glared."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from diagnose.triplog.grid import HOUR_S, STEP_S, Grid
from diagnose.triplog.records import Bools, Floats, Log, Place, Tested, Weather
from diagnose.triplog.scan import best_mask, gain
from diagnose.triplog.sky import DARK_DEG, below_horizon, glaring
from diagnose.triplog.sun_table import sun_steps
from diagnose.words import say

RAIN_MM_H = (0.1, 0.5, 1.0, 2.0, 4.0, 8.0)
TAILS_H = (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 9.0, 12.0, 24.0)
"""Hours after rain in which it may still tell."""
WIND_M_S = tuple(float(v) for v in range(4, 21))
COLD_C = (12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.0, -1.0, -2.0, -4.0, -6.0, -8.0, -10.0, -15.0)
HEAT_C = tuple(float(v) for v in range(16, 41))
LAGS_H = (0.0, 1.0, 2.0, 3.0, 4.0)
"""Hours by which a housing or a cable may lag behind the air."""
FOG_M = (1000.0, 500.0, 300.0, 200.0, 100.0, 2000.0)
"""Fog: visibility under 1 km (World Meteorological Organization)."""
DAMP_PERCENT = (93.0, 95.0, 97.0, 99.0)
"""Stands for fog where no visibility was recorded (judgement)."""
DEW_PERCENT = (75.0, 77.5, 80.0, 82.5, 85.0, 87.5, 90.0, 92.5, 95.0)
DEW_H = (1.0, 1.5, 2.0, 3.0, 4.0)
DEW_FROM_H = (0.0, 0.25, 0.5)
NEAR_DEG = (5.0, 10.0, 15.0, 20.0)
_DEW_SUN_DEG = 35.0
_APART = 0.5
"""Neighbouring limits share most of their steps: so much of each counts as tried."""
_TAIL_TELLS = 6.0
"""Gain in log-likelihood over no tail at all: evidence of fifty to one, once lengths were searched (judgement)."""
_TAIL_FITS = 2.0
"""Two units of log-likelihood: the usual support interval."""
AFTER_POWER_H = (0.5, 1.0, 2.0, 4.0, 8.0, 12.0)
_LONGEST_HOLD_S = 3 * 3600.0
_LEAST_OUTAGES = 2


def held(grid: Grid, weather: Weather, name: str, lag_h: float = 0.0) -> Floats:
    """One reading at every step, or `lag_h` earlier: the last one before, not-a-number where that is too old."""
    values = weather.values.get(name)
    if values is None or not len(weather.times):
        return np.full(len(grid.middle), np.nan)
    usual = float(np.median(np.diff(weather.times))) if len(weather.times) > 1 else STEP_S
    return latest(grid.middle - lag_h * HOUR_S, weather.times, values, min(max(2 * usual, STEP_S), _LONGEST_HOLD_S))


def latest(moments: Floats, times: Floats, values: Floats, longest_s: float) -> Floats:
    """The value of the last time before each moment, not-a-number where that is longer ago than `longest_s`."""
    at = np.searchsorted(times, moments, "right") - 1
    age = np.where(at >= 0, moments - times[np.maximum(at, 0)], np.inf)
    return np.where(age <= longest_s, values[np.maximum(at, 0)], np.nan)


def weather_tests(grid: Grid, weather: Weather, place: Place | None = None) -> list[Tested]:
    """Every weather test the readings allow."""
    at = {name: held(grid, weather, name) for name in ("rain", "wind", "temperature", "humidity", "visibility")}
    found = [*_rain(grid, at["rain"]), _above("wind", grid, [(0.0, at["wind"])], WIND_M_S, "wind")]
    lagged = [(lag, held(grid, weather, "temperature", lag)) for lag in LAGS_H]
    found.append(_above("frost", grid, [(lag, -v) for lag, v in lagged], [-t for t in COLD_C], "frost", -1))
    found.append(_above("heat", grid, lagged, HEAT_C, "heat"))
    found.append(_fog(grid, at))
    found.append(_dew(grid, at["humidity"], place))
    return [t for t in found if t]


def _above(
    name: str,
    grid: Grid,
    lagged: Sequence[tuple[float, Floats]],
    limits: Sequence[float],
    what: str,
    sign: int = 1,
) -> Tested | None:
    """The limit, and the lag in hours, that tell most."""
    known = ~np.isnan(lagged[0][1])
    masks = []
    for lag, values in lagged:
        key = f"triplog.at_{what}_lagged" if lag else f"triplog.at_{what}"
        reached = [limit for limit in limits if (values[known] >= limit).any()]
        masks += [(say(key, limit=f"{sign * limit:g}", hours=f"{lag:g}"), values >= limit) for limit in reached]
    return best_mask(name, grid, masks, known, _APART * len(masks))


def _rain(grid: Grid, rain: Floats) -> list[Tested | None]:
    known = ~np.isnan(rain)
    masks = []
    for limit in RAIN_MM_H:
        if not (rain[known] >= limit).any():
            continue
        since = _since(grid.middle, rain >= limit)
        masks += [(_rain_says(limit, h), since <= h * HOUR_S) for h in TAILS_H]
    falling = best_mask("rain", grid, masks, known, _APART * len(masks))
    wet = rain >= RAIN_MM_H[0]
    since = _since(grid.middle, wet)
    after = [(say("triplog.at_after_rain", hours=f"{h:g}"), ~wet & (since <= h * HOUR_S)) for h in TAILS_H[1:]]
    later = best_mask("after_rain", grid, after, known & ~wet, _APART * len(after))
    says = _tail_says(grid, [mask for _, mask in after], known & ~wet) if later else ""
    return [_with_detail(test, says) if says and test else test for test in (falling, later)]


def _with_detail(test: Tested, says: str) -> Tested:
    return replace(test, count=replace(test.count, detail=f"{test.count.detail}; {says}"))


def _tail_says(grid: Grid, after: Sequence[Bools], dry: Bools) -> str:
    """How long after rain the rate stays raised, against the rest of the dry time: every length that tells nearly as
    much as the best; '' where none tells enough."""
    told = [gain(grid.count("", mask, dry)) for mask in after]
    best = max(told)
    if best < _TAIL_TELLS:
        return ""
    fits = [hours for hours, g in zip(TAILS_H[1:], told, strict=True) if g > best - _TAIL_FITS]
    key = "triplog.rain_tail" if len(fits) > 1 else "triplog.rain_tail_one"
    return say(key, first=f"{fits[0]:g}", last=f"{fits[-1]:g}")


def _rain_says(limit: float, hours: float) -> str:
    key = "triplog.at_rain_tail" if hours else "triplog.at_rain"
    return say(key, limit=f"{limit:g}", hours=f"{hours:g}")


def _since(middle: Floats, wet: Bools) -> Floats:
    """Seconds since it last rained, endless before the first rain."""
    last = np.maximum.accumulate(np.where(wet, middle, -np.inf))
    return np.asarray(middle - last)


def _fog(grid: Grid, at: Mapping[str, Floats]) -> Tested | None:
    sight, damp = at["visibility"], at["humidity"]
    if not np.isnan(sight).all():
        return _above("fog", grid, [(0.0, -sight)], [-v for v in FOG_M], "fog", -1)
    wet = np.nan_to_num(at["rain"]) >= RAIN_MM_H[0]
    masks = [(say("triplog.at_damp", limit=f"{p:g}"), (damp >= p) & ~wet) for p in DAMP_PERCENT]
    return best_mask("fog", grid, masks, ~np.isnan(damp))


def _dew(grid: Grid, damp: Floats, place: Place | None) -> Tested | None:
    """The first hours of sun after a damp night: drops on what the night has cooled. By the clock without a place."""
    known = ~np.isnan(damp)
    if not known.any():
        return None
    wettest = _lately(damp)
    mornings = _after_dawn(grid, place) if place else _by_clock(grid)
    masks = [
        (say(key, limit=f"{limit:g}", lately=say(f"triplog.{when}"), **words), morning & (wet >= limit))
        for key, words, morning in mornings
        for limit in DEW_PERCENT
        for when, wet in (("four_hours_before", wettest), ("at_that_time", damp))
    ]
    return best_mask("dew", grid, masks, known, _APART * len(masks))


Morning = tuple[str, dict[str, str], Bools]


def _after_dawn(grid: Grid, place: Place) -> list[Morning]:
    azimuth, up = sun_steps(grid.middle, place)
    dawn = _since(grid.middle, (up < 0) & (azimuth < 180))
    low = up < _DEW_SUN_DEG
    windows = [(first, first + hours) for first in DEW_FROM_H for hours in DEW_H]
    return [
        (
            "triplog.at_dew_from" if first else "triplog.at_dew",
            {"first": f"{first * 60:g}", "hours": f"{last:g}"} if first else {"hours": f"{last:g}"},
            (dawn >= first * HOUR_S) & (dawn <= last * HOUR_S) & low,
        )
        for first, last in windows
    ]


def _by_clock(grid: Grid) -> list[Morning]:
    hour = grid.hour
    return [
        ("triplog.at_dew_by_clock", _morning(begin, h), (hour >= begin) & (hour < begin + h))
        for begin in np.arange(4.0, 9.5, 0.5).tolist()
        for h in DEW_H
    ]


def _morning(begin: float, hours: float) -> dict[str, str]:
    return {"begin": f"{int(begin):02d}:{int(begin % 1 * 60):02d}", "hours": f"{hours:g}"}


def _lately(values: Floats, hours: float = 4.0) -> Floats:
    """The largest value of the last hours."""
    steps = int(hours * HOUR_S / STEP_S)
    filled = np.concatenate([np.full(steps - 1, -np.inf), np.nan_to_num(values, nan=-np.inf)])
    return np.asarray(np.lib.stride_tricks.sliding_window_view(filled, steps).max(1))


def after_power(grid: Grid, log: Log) -> Tested | None:
    """The hours after power, or the log, came back, however short it was gone."""
    came = np.union1d(log.outages[:, 1], log.returns)
    if len(came) < _LEAST_OUTAGES:
        return None
    back = np.zeros(len(grid.middle), bool)
    back[np.clip(np.searchsorted(grid.middle, came - STEP_S / 2), 0, len(back) - 1)] = True
    since = _since(grid.middle, back)
    masks = [(say("triplog.at_after_power", hours=f"{h:g}"), since <= h * HOUR_S) for h in AFTER_POWER_H]
    return best_mask("after_power", grid, masks)


def sky_tests(grid: Grid, place: Place) -> list[Tested]:
    """Darkness, and the sun or its mirror image near a direction that a device looks along."""
    dark = say("triplog.at_dark", degrees=f"{-DARK_DEG:g}")
    found = [best_mask("dark", grid, [(dark, below_horizon(grid.middle, place))])]
    masks = glaring(grid.middle, place, NEAR_DEG)
    for name in ("low_sun", "mirrored_sun"):
        found.append(best_mask(name, grid, masks[name]) if masks[name] else None)
    return [t for t in found if t]
