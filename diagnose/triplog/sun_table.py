"""The sun over many times at once: Meeus' low-precision position and the usual refraction, as astral has them.

`diagnose.calc.sun` is the calculator for one moment; a year of a log needs a hundred thousand, so this is numpy.
tests/triplog hold the two within 0.05° of each other.
"""

from functools import lru_cache

import numpy as np

from diagnose.triplog.records import DAY_S, Floats, Place

_J2000_S = 946_728_000.0
_JULIAN_CENTURY_D = 36525.0


def sun_angles(times: Floats, place: Place) -> tuple[Floats, Floats]:
    """Azimuth 0 to 360 and elevation with refraction, degrees, at UTC seconds."""
    declination, hour_angle = _equatorial(times, place.longitude_deg)
    north = np.radians(place.latitude_deg)
    up = np.arcsin(
        np.clip(np.sin(north) * np.sin(declination) + np.cos(north) * np.cos(declination) * np.cos(hour_angle), -1, 1)
    )
    east = -np.sin(hour_angle) * np.cos(declination)
    ahead = np.sin(declination) * np.cos(north) - np.cos(declination) * np.sin(north) * np.cos(hour_angle)
    elevation = np.degrees(up)
    return np.degrees(np.arctan2(east, ahead)) % 360, elevation + _refraction(elevation)


def _equatorial(times: Floats, longitude_deg: float) -> tuple[Floats, Floats]:
    """Declination and local hour angle, radians."""
    days = (times - _J2000_S) / DAY_S
    century = days / _JULIAN_CENTURY_D
    mean = np.radians((357.52911 + 35999.05029 * century) % 360)
    centre = (1.914602 - 0.004817 * century) * np.sin(mean) + 0.019993 * np.sin(2 * mean)
    node = np.radians(125.04 - 1934.136 * century)
    along = np.radians((280.46646 + 36000.76983 * century + centre - 0.00569 - 0.00478 * np.sin(node)) % 360)
    tilt = np.radians(23.4392911 - 0.0130042 * century + 0.00256 * np.cos(node))
    right = np.arctan2(np.cos(tilt) * np.sin(along), np.cos(along))
    sidereal = np.radians((280.46061837 + 360.98564736629 * days + longitude_deg) % 360)
    return np.asarray(np.arcsin(np.sin(tilt) * np.sin(along))), np.asarray(sidereal - right)


def _refraction(elevation: Floats) -> Floats:
    """Degrees that the air lifts the sun (NOAA's formulas)."""
    t = np.tan(np.radians(np.clip(elevation, -89.9, 89.9)))
    safe = np.where(np.abs(t) < 1e-9, 1e-9, t)
    high = 58.1 / safe - 0.07 / safe**3 + 0.000086 / safe**5
    e = elevation
    low = 1735.0 + e * (-518.2 + e * (103.4 + e * (-12.79 + e * 0.711)))
    seconds = np.where(e > 85, 0.0, np.where(e > 5, high, np.where(e > -0.575, low, -20.774 / safe)))
    return np.asarray(seconds / 3600)


@lru_cache(maxsize=4)
def _steps(first: float, step: float, steps: int, place: Place) -> tuple[Floats, Floats]:
    return sun_angles(first + step * np.arange(steps, dtype=np.float64), place)


def sun_steps(times: Floats, place: Place) -> tuple[Floats, Floats]:
    """`sun_angles` at evenly spaced times, kept for the next test that asks for the same."""
    step = float(times[1] - times[0]) if len(times) > 1 else 1.0
    return _steps(float(times[0]), step, len(times), place)
