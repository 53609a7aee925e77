"""Mechanisms that follow the weather."""

import numpy as np

from tests.trip_mechanisms.clock import HOUR, Bools, Floats, hour_of
from tests.trip_mechanisms.model import Mechanism, Plant, Reading, Wish
from tests.trip_mechanisms.scene import Scene, by_rate, hours, in_windows, shifted
from tests.trip_mechanisms.sky import sun

WINTER, SUMMER = (10, 11, 12, 1), (5, 6, 7)


def rain_tail(s: Scene) -> Plant:
    rain, tail = s.weather.rain, int(s.rng.integers(2, 6))
    since = _hours_since(rain > 0)
    fading = 0.5 * (1 - (since - 1) / tail)
    weight = np.where(since == 0, 0.5 + 0.3 * np.minimum(rain, 5), np.where(since <= tail, fading, 0))
    return by_rate(s, s.weather.t, weight, tail_h=tail)


def _hours_since(wet: Bools) -> Floats:
    n = np.arange(len(wet))
    last = np.maximum.accumulate(np.where(wet, n, -1000))
    return (n - last).astype(float)


def rain_heavy(s: Scene) -> Plant:
    """A drizzle does nothing."""
    rain = s.weather.rain
    least = round(float(np.quantile(rain[rain > 0], s.rng.uniform(0.6, 0.75))), 1)
    return hours(s, rain >= least, least_mm=least)


def wind_threshold(s: Scene) -> Plant:
    least = round(float(np.quantile(s.weather.wind, s.rng.uniform(0.88, 0.95))), 1)
    return hours(s, s.weather.wind >= least, least_kmh=least)


def cold_nights(s: Scene) -> Plant:
    most = round(float(np.quantile(s.weather.temperature, s.rng.uniform(0.1, 0.2))), 1)
    return hours(s, s.weather.temperature <= most, most_c=most)


def heat_lag(s: Scene) -> Plant:
    """A box warms up later than the air."""
    lag = int(s.rng.integers(1, 4))
    before = shifted(s.weather.temperature, lag)
    least = round(float(np.quantile(before, s.rng.uniform(0.86, 0.92))), 1)
    return hours(s, before >= least, lag_h=lag, least_c=least)


def fog(s: Scene) -> Plant:
    most = float(s.rng.integers(350, 800))
    return hours(s, s.weather.visibility <= most, most_m=most)


def dew(s: Scene) -> Plant:
    """Of the nights without rain the dampest half; it dries within two hours of sunrise."""
    rises = _sunrises(s)
    w = s.weather
    before = np.clip(np.searchsorted(w.t, rises) - 1, 3, len(w.t) - 1)
    damp = np.array([w.humidity[i - 3 : i + 1].mean() for i in before])
    dry = np.array([w.rain[i - 3 : i + 3].sum() == 0 for i in before])
    least = float(np.quantile(damp[dry], 0.5))
    begins = rises[dry & (damp >= least)] + 600.0
    return in_windows(s, begins, 5400.0, (4, 9), least_pct=round(least, 1))


def _sunrises(s: Scene) -> Floats:
    t = s.minutes()
    height, _ = sun(t, s.site.latitude, s.site.longitude)
    return t[1:][(height[1:] > -0.8) & (height[:-1] <= -0.8)]


def board_heat(s: Scene) -> Plant:
    """No weather file: the gate's own board says how warm it is."""
    t = np.arange(s.site.begin, s.site.end, 900.0)
    hour = hour_of(s.site.clock.wall(t)) + (t % HOUR) / HOUR
    base = np.interp(t, s.weather.t, s.weather.temperature)
    values = base + 8 + 4 * np.clip(np.sin(2 * np.pi * (hour - 8) / 24), 0, None) + s.rng.normal(0, 0.2, len(t))
    least = round(float(np.quantile(values, s.rng.uniform(0.86, 0.93))), 1)
    plant = by_rate(s, t, (values >= least).astype(float), least_c=least)
    return Plant(plant.times, plant.windows, plant.figures, reading=_reading("board_temp_c", t, values))


def supply_low(s: Scene) -> Plant:
    """Something heavy on the same supply pulls it down, more often in working hours."""
    t = np.arange(s.site.begin, s.site.end, 300.0)
    sags = np.sort(s.rng.uniform(s.site.begin, s.site.end, s.rng.poisson(s.rng.uniform(1.2, 2.5) * s.site.days)))
    hour = hour_of(s.site.clock.wall(sags))
    sags = sags[((hour > 6) & (hour < 19)) | (s.rng.random(len(sags)) < 0.4)]
    low = np.zeros(len(t), dtype=np.bool_)
    for begin, length in zip(sags, s.rng.uniform(1500, 6000, len(sags)), strict=True):
        low |= (t >= begin) & (t < begin + length)
    values = 24.3 + s.rng.normal(0, 0.15, len(t)) - low * s.rng.uniform(2.5, 5.0)
    plant = by_rate(s, t, low.astype(float), low_v=round(float(values[low].max()), 2))
    return Plant(plant.times, plant.windows, plant.figures, reading=_reading("supply_v", t, values))


def _reading(heading: str, t: Floats, values: Floats) -> Reading:
    step = t[1] - t[0]

    def at(moments: Floats) -> Floats:
        now: Floats = values[np.clip(((moments - t[0]) // step).astype(int), 0, len(t) - 1)]
        return now

    return Reading(heading, at, 900.0)


def power_return(s: Scene) -> Plant:
    """The power goes often; whatever warms up or settles afterwards trips meanwhile."""
    tail = float(s.rng.uniform(8, 35)) * 60
    return in_windows(s, np.array([b for _, b in s.outages]) + 5.0, tail, (4, 9))


WET = Wish(weather=True, days=(30, 75))
HEAVY = Wish(weather=True, days=(40, 90))
OFTEN_DARK = Wish(days=(30, 70), outages=(14, 24), outage_hours=(0.2, 2.0), power_words=True)
READS = Wish(days=(16, 40), weather=False)

MECHANISMS = (
    Mechanism("rain_tail", rain_tail, ("rain", "after_rain"), (), ("wind", "time_of_day"),
              "it blows harder when it rains", WET),
    Mechanism("rain_heavy", rain_heavy, ("rain",), ("after_rain",), ("wind", "fog"),
              "it blows harder when it rains, and one sees less far", HEAVY),
    Mechanism("wind_threshold", wind_threshold, ("wind",), (), ("rain", "time_of_day"),
              "wind rises with rain and in the afternoon", WET),
    Mechanism("cold_nights", cold_nights, ("frost",), ("dark", "time_of_day"), ("road_lights", "trend"),
              "the coldest hours are hours of the night", Wish(weather=True, months=WINTER, days=(30, 80))),
    Mechanism("heat_lag", heat_lag, ("heat",), ("time_of_day",), ("traffic", "low_sun"),
              "the hot hours are hours of traffic", Wish(weather=True, months=SUMMER, days=(30, 80))),
    Mechanism("fog", fog, ("fog",), (), ("dark", "frost", "time_of_day", "dew"),
              "fog comes in the small hours", HEAVY),
    Mechanism("dew", dew, ("dew",), ("follows_sun", "fog", "time_of_day"), ("low_sun", "traffic"),
              "the morning rush; the sun stands low at the same time", Wish(weather=True, days=(35, 80))),
    Mechanism("board_heat", board_heat, ("column", "heat"), ("time_of_day",), ("traffic", "low_sun"),
              "the warm hours are hours of traffic", READS),
    Mechanism("supply_low", supply_low, ("column",), ("bursts",), ("time_of_day", "traffic", "week"),
              "the supply goes down more often in working hours", READS),
    Mechanism("power_return", power_return, ("after_power",), ("bursts",), ("change", "rain"),
              "walk tests are bursts as well", OFTEN_DARK),
)  # fmt: skip
