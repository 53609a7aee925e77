"""Invented logs with a pattern planted in them, drawn from a seed."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from diagnose.calc.sun import Direction
from diagnose.triplog.records import DAY_S, Clock, Floats, Log, LookDirection, Place, Weather
from diagnose.triplog.sky import sun_vectors, toward

Flags = NDArray[np.bool_]

BEGIN = 1_767_571_200.0  # 5 January 2026, 00:00 UTC, a Monday
AHEAD = Clock("UTC+01:00", np.array([-np.inf]), np.array([3600.0]))
PLACE = Place(50.0, 10.0, (LookDirection("sensor 1", Direction(0.0, 235.0)),))


def weather(rng: np.random.Generator, days: float) -> Weather:
    """Half-hourly readings: rain in spells, wind and temperature wandering with the day, fog on some mornings."""
    times = BEGIN + np.arange(0, days * DAY_S, 1800.0)
    n = len(times)
    rain = np.zeros(n)
    for start in np.flatnonzero(rng.random(n) < 0.015):
        rain[start : start + rng.integers(1, 8)] = rng.uniform(0.3, 6)
    hour = (times % DAY_S) / 3600
    wind = np.abs(4 + wandering(rng, n, 3.0))
    temperature = 2 - 5 * np.cos((hour - 2) / 24 * 2 * np.pi) + wandering(rng, n, 4.0)
    fog = (wandering(rng, n, 1.0) > 1.3) & (hour < 10)
    sight = np.where(fog, rng.uniform(100, 800, n), 10_000.0)
    humidity = np.where(fog, 99.5, np.where(rain > 0, 95, 75))
    values = {"rain": rain, "wind": wind, "temperature": temperature, "visibility": sight, "humidity": humidity}
    return Weather(times, values)


def wandering(rng: np.random.Generator, n: int, spread: float) -> Floats:
    """A series that forgets itself over about half a day."""
    out, at = np.empty(n), 0.0
    for i, push in enumerate(rng.normal(0, 1, n)):
        at = 0.96 * at + 0.28 * push
        out[i] = at
    return out * spread


def thinned(rng: np.random.Generator, days: float, per_day: float, rate: Callable[[Floats], Floats]) -> Floats:
    """Poisson events at `per_day` times a relative rate of time; `rate` must stay under 60."""
    most = 60.0
    times = BEGIN + np.sort(rng.uniform(0, days * DAY_S, rng.poisson(per_day * days * most)))
    return times[rng.uniform(0, most, len(times)) < rate(times)]


def even(times: Floats) -> Floats:
    return np.ones(len(times))


def busy(times: Floats) -> Floats:
    """Traffic: two rush hours on the local clock, little at night."""
    hour = ((times + 3600) % DAY_S) / 3600
    relative: Floats = (
        0.1 + 2 * np.exp(-(((hour - 8) / 1.5) ** 2)) + 2 * np.exp(-(((hour - 17) / 2) ** 2)) + (hour > 7) * 0.5
    )
    return relative


def bursts(rng: np.random.Generator, trips: Floats) -> Floats:
    """Each trip with none to three more some seconds after it."""
    more = [t + np.cumsum(rng.uniform(2, 25, rng.integers(0, 4))) for t in trips]
    return np.sort(np.concatenate([trips, *more])) if len(trips) else trips


def log_of(rng: np.random.Generator, trips: Floats, days: float, sensors: int = 2) -> Log:
    """A whole log around the trips: passes, movements, weather and place."""
    passes = thinned(rng, days, 30, busy)
    moves = np.sort(np.concatenate([passes + 2, passes + 30]))
    trips = bursts(rng, trips)
    sensor = rng.integers(0, sensors, len(trips))
    names = tuple(f"sensor {i + 1}" for i in range(sensors))
    end = BEGIN + days * DAY_S
    return Log(trips, sensor, names, moves, passes, BEGIN, end, AHEAD, weather(rng, days), PLACE)


def readings(log: Log, name: str, times: Floats) -> Floats:
    assert log.weather
    at = np.clip(np.searchsorted(log.weather.times, times, "right") - 1, 0, None)
    read: Floats = log.weather.values[name][at]
    return read


def near_sun(times: Floats, aim: Direction, degrees: float) -> Flags:
    sun = sun_vectors(times, PLACE)
    near: Flags = (sun @ toward(aim) >= np.cos(np.radians(degrees))) & (sun[:, 2] > 0)
    return near


def _mirrored_sun(rng: np.random.Generator, log: Log, days: float, per_day: float) -> Log:
    """A device that looks down at the road, 12° under the horizontal."""
    place = Place(50.0, 10.0, (LookDirection("sensor 1", Direction(-12.0, 215.0)),))
    trips = thinned(rng, days, per_day, lambda t: 1 + 49 * near_sun(t, Direction(12.0, 215.0), 6).astype(float))
    return replace(with_trips(rng, log, trips), place=place)


def with_trips(rng: np.random.Generator, log: Log, trips: Floats) -> Log:
    """The same site and weather with other trips."""
    trips = bursts(rng, np.sort(trips))
    return replace(log, trips=trips, sensor=rng.integers(0, len(log.sensors), len(trips)))


def planted(name: str, seed: int, days: float = 60, per_day: float = 2.0) -> Log:
    """A log in which the pattern of this name was planted."""
    rng = np.random.default_rng(seed)
    log = log_of(rng, np.zeros(0), days)
    return PLANTS[name](rng, log, days, per_day)


Plant = Callable[[np.random.Generator, Log, float, float], Log]


def by_rate(rate: Callable[[Log, Floats], Flags | Floats], most: float) -> Plant:
    """A pattern that raises the rate up to `most`-fold where `rate` is true."""

    def plant(rng: np.random.Generator, log: Log, days: float, per_day: float) -> Log:
        trips = thinned(rng, days, per_day, lambda t: 1 + (most - 1) * rate(log, t).astype(float))
        return with_trips(rng, log, trips)

    return plant


def hour_in(low: float, high: float) -> Callable[[Log, Floats], Flags]:
    return lambda log, t: ((log.clock.local(t) % DAY_S) / 3600 >= low) & ((log.clock.local(t) % DAY_S) / 3600 < high)


def _after_rain(log: Log, times: Floats) -> Flags:
    earlier = [readings(log, "rain", times - 1800 * k) > 0 for k in range(1, 5)]
    lately: Flags = np.any(earlier, axis=0) & ~(readings(log, "rain", times) > 0)
    return lately


def _moving(rng: np.random.Generator, log: Log, days: float, per_day: float) -> Log:
    hit = log.moves[rng.random(len(log.moves)) < 0.03]
    return with_trips(
        rng, log, np.concatenate([thinned(rng, days, per_day, even), hit + rng.uniform(5, 9, len(hit))])
    )


def _period(rng: np.random.Generator, log: Log, days: float, per_day: float) -> Log:
    every = rng.uniform(37, 300) * 60
    beats = np.arange(BEGIN + rng.uniform(0, every), BEGIN + days * DAY_S, every)
    hit = beats[rng.random(len(beats)) < min(1, 3 * days / len(beats))]
    return with_trips(
        rng, log, np.concatenate([thinned(rng, days, per_day, even), hit + rng.normal(0, 60, len(hit))])
    )


def _one_sensor(rng: np.random.Generator, log: Log, days: float, per_day: float) -> Log:
    made = with_trips(rng, log, thinned(rng, days, per_day, even))
    opens = np.concatenate(([True], np.diff(made.trips) > 120))
    per_episode = np.where(rng.random(len(made.trips)) < 0.7, 2, rng.integers(0, 2, len(made.trips)))
    sensor = per_episode[np.maximum.accumulate(np.where(opens, np.arange(len(opens)), 0))]
    return replace(made, sensors=("sensor 1", "sensor 2", "sensor 3"), sensor=sensor)


def _with_traffic(rng: np.random.Generator, log: Log, days: float, per_day: float) -> Log:
    return with_trips(rng, log, thinned(rng, days, per_day, busy))


PLANTS: dict[str, Plant] = {
    "rain": by_rate(lambda log, t: readings(log, "rain", t) >= 0.1, 8),
    "after_rain": by_rate(_after_rain, 8),
    "wind": by_rate(lambda log, t: readings(log, "wind", t) >= 7, 8),
    "frost": by_rate(lambda log, t: readings(log, "temperature", t) <= -1, 6),
    "fog": by_rate(lambda log, t: readings(log, "visibility", t) < 1000, 12),
    "while_moving": _moving,
    "time_of_day": by_rate(hour_in(18.5, 20.5), 12),
    "two_times": by_rate(lambda log, t: hour_in(6, 7)(log, t) | hour_in(14, 15)(log, t), 15),
    "low_sun": by_rate(lambda _, t: near_sun(t, PLACE.looks[0].direction, 8), 40),
    "mirrored_sun": _mirrored_sun,
    "period": _period,
    "week": by_rate(lambda log, t: ((log.clock.local(t) // DAY_S) + 3) % 7 >= 5, 5),
    "dark": by_rate(lambda _, t: sun_vectors(t, PLACE)[:, 2] < -0.1, 6),
    "change": by_rate(lambda log, t: t > BEGIN + 0.6 * (log.end - BEGIN), 4),
    "trend": by_rate(lambda log, t: (np.exp(2.5 * (t - BEGIN) / (log.end - BEGIN)) - 1) / 11.2, 12.2),
    "one_sensor": _one_sensor,
    "traffic": _with_traffic,
}
