"""Where the sun stands: the almanac's short series, good to a twentieth of a degree; refraction is left out."""

import numpy as np

from tests.trip_mechanisms.clock import Floats

J2000 = 946728000.0


def sun(t: Floats, latitude: float, longitude: float) -> tuple[Floats, Floats]:
    """Height above level and direction from north, in degrees."""
    days = (t - J2000) / 86400.0
    ascension, declination = _place(days)
    sidereal = np.radians((280.46062 + 360.98564737 * days + longitude) % 360)
    angle, phi = sidereal - ascension, np.radians(latitude)
    up = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(angle)
    east = -np.cos(declination) * np.sin(angle)
    north = np.cos(phi) * np.sin(declination) - np.sin(phi) * np.cos(declination) * np.cos(angle)
    return np.degrees(np.arcsin(np.clip(up, -1, 1))), np.degrees(np.arctan2(east, north)) % 360


def _place(days: Floats) -> tuple[Floats, Floats]:
    anomaly = np.radians((357.528 + 0.9856003 * days) % 360)
    mean = 280.460 + 0.9856474 * days
    ecliptic = np.radians((mean + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly)) % 360)
    tilt = np.radians(23.439)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    return ascension, np.arcsin(np.sin(tilt) * np.sin(ecliptic))


def darkness(height: Floats) -> Floats:
    """0 by day, 1 from some degrees below level on."""
    return np.clip((-2.5 - height) / 4.0, 0.0, 1.0)


def apart(a: Floats, b: float) -> Floats:
    """How far two directions lie apart, in degrees."""
    return np.abs((a - b + 180) % 360 - 180)
