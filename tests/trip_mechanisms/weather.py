"""The weather of a site hour by hour: wind rises with rain and by day, some nights bring fog, clear ones cold."""

from dataclasses import dataclass

import numpy as np

from tests.trip_mechanisms.clock import DAY, HOUR, Bools, Floats, hour_of
from tests.trip_mechanisms.site import Site

YEAR = 365.25 * DAY


@dataclass(frozen=True)
class Weather:
    t: Floats  # when each hour begins
    rain: Floats  # mm
    wind: Floats  # km/h
    temperature: Floats  # Celsius
    humidity: Floats  # per cent
    visibility: Floats  # metres


def weather_of(site: Site) -> Weather:
    t = np.arange(site.begin, site.end, HOUR)
    hour = hour_of(site.clock.wall(t))
    day = ((t - site.begin) // DAY).astype(int)
    clear = site.rng.random(site.days + 1)[day]
    rain = _rain(site, len(t)) * (clear < 0.85)
    temperature = _season(site, t) + (2 + 5 * clear) * np.sin(2 * np.pi * (hour - 9) / 24) + _drift(site, len(t), 1.6)
    temperature -= 1.5 * (rain > 0)
    wind = 13 + 3 * np.sin(2 * np.pi * (hour - 9) / 24) + 6 * (rain > 0) + 3 * _drift(site, len(t), 2.2)
    damp = 74 - 2.2 * (temperature - _daily(temperature, day)) + 18 * (rain > 0) + 2 * _drift(site, len(t), 2.0)
    visibility = np.where(rain > 0, 6000.0, 16000.0) * np.exp(site.rng.normal(0, 0.25, len(t)))
    fog = _fog(site, len(t), hour)
    visibility = np.where(fog, site.rng.uniform(80, 700, len(t)), visibility)
    humidity = np.where(fog, site.rng.uniform(95, 100, len(t)), np.clip(damp, 25, 99))
    return Weather(t, rain.round(1), np.clip(wind, 0.5, None), temperature, humidity, visibility)


def _season(site: Site, t: Floats) -> Floats:
    """Warmest in July on the northern half, in January on the southern."""
    turn = -1.0 if site.latitude > 0 else 1.0
    middle = 25.0 - 0.33 * abs(site.latitude)
    return middle + turn * 10.0 * np.cos(2 * np.pi * (t % YEAR - 20 * DAY) / YEAR)


def _drift(site: Site, n: int, size: float) -> Floats:
    """A slow wander about zero, with a memory of about a day."""
    noise = site.rng.normal(0, size * np.sqrt(1 - 0.96**2), n)
    out, now = np.zeros(n), 0.0
    for i in range(n):
        now = 0.96 * now + noise[i]
        out[i] = now
    return out


def _rain(site: Site, n: int) -> Floats:
    throws, amount = site.rng.random(n), site.rng.gamma(1.0, 1.6, n) + 0.2
    wet, out = False, np.zeros(n)
    for i in range(n):
        wet = bool(throws[i] < (0.78 if wet else 0.03))
        out[i] = amount[i] if wet else 0.0
    return out


def _daily(values: Floats, day: Floats) -> Floats:
    days = day.astype(int)
    means = np.bincount(days, values) / np.maximum(1, np.bincount(days))
    each: Floats = means[days]
    return each


def _fog(site: Site, n: int, hour: Floats) -> Bools:
    """On some nights, for a few hours; it begins between midnight and seven."""
    fog = np.zeros(n, dtype=np.bool_)
    for i in np.flatnonzero(hour == 0):
        if site.rng.random() < 0.25:
            begin = i + site.rng.integers(0, 8)
            fog[begin : begin + site.rng.integers(2, 8)] = True
    return fog
