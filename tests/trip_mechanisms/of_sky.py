"""Mechanisms that follow the sun or the dark."""

import numpy as np

from tests.trip_mechanisms.clock import DAY, Floats, hour_of, weekday_of
from tests.trip_mechanisms.model import Mechanism, Plant, Span, Wish
from tests.trip_mechanisms.scene import Scene, by_rate, in_windows, runs
from tests.trip_mechanisms.sky import apart, darkness, sun

ROAD = np.array([1, 0.5, 0.3, 0.3, 1, 4, 10, 14, 11, 8, 7, 7, 7, 8, 8, 10, 13, 14, 11, 8, 5, 4, 3, 2])
ROAD_FREE = np.array([2, 1.5, 1, 0.6, 0.5, 0.6, 1, 2, 4, 6, 7, 7, 7, 6, 6, 7, 7, 7, 6, 5, 4, 3.5, 3, 2.5])
DARK_SEASON = (9, 10, 11, 1, 2)


def low_sun(s: Scene) -> Plant:
    """A patch of the sky that the low sun crosses; under cloud there is nothing."""
    t = s.minutes()
    height, direction = sun(t, s.site.latitude, s.site.longitude)
    at = _aim(s, t, height)
    wide, high = float(s.rng.uniform(5, 10)), float(s.rng.uniform(2.5, 4.5))
    inside = (apart(direction, direction[at]) <= wide) & (np.abs(height - height[at]) <= high)
    spans = _clear(s, runs(t, inside))
    mean = float(s.rng.uniform(60, 200))
    times = np.concatenate([_every(s, a, b, mean) for a, b in spans] or [np.zeros(0)])
    figures = {"azimuth": direction[at], "height": height[at], "half_width": wide, "half_height": high}
    return Plant(times, spans, {k: round(float(v), 1) for k, v in figures.items()})


def _aim(s: Scene, t: Floats, height: Floats) -> int:
    """A minute of some day of the middle third at which the sun stands low, of the morning or the evening."""
    day = s.site.begin + DAY * s.site.days * s.rng.uniform(0.33, 0.67)
    rising = s.rng.random() < 0.5
    near = (np.abs(t - day) < DAY / 2) & ((np.gradient(height) > 0) == rising)
    low = np.flatnonzero(near & (np.abs(height - s.rng.uniform(5, 9)) < 0.5))
    return int(low[len(low) // 2])


def _clear(s: Scene, spans: tuple[Span, ...]) -> tuple[Span, ...]:
    share = s.rng.uniform(0.5, 0.75)
    return tuple(x for x in spans if x[1] - x[0] > 240 and s.rng.random() < share)


def _every(s: Scene, begin: float, end: float, mean: float) -> Floats:
    gaps = 20 + s.rng.exponential(mean, int((end - begin) / 20) + 1)
    times = begin + np.cumsum(gaps)
    return np.asarray(times[times < end], dtype=np.float64)


def headlights(s: Scene) -> Plant:
    t = np.arange(s.site.begin, s.site.end, 600.0)
    height, _ = sun(t, s.site.latitude, s.site.longitude)
    return by_rate(s, t, darkness(height) * _road(s, t))


def _road(s: Scene, t: Floats) -> Floats:
    wall = s.site.clock.wall(t)
    hour = hour_of(wall).astype(int)
    cars: Floats = np.where(weekday_of(wall) < 5, ROAD[hour], ROAD_FREE[hour])
    return cars


def road_by_day(s: Scene) -> Plant:
    """A sensor that sees the road trips with its traffic, light or dark."""
    t = np.arange(s.site.begin, s.site.end, 600.0)
    return by_rate(s, t, _road(s, t))


def spider(s: Scene) -> Plant:
    """Spiders work at night, and there are more of them every week."""
    t = np.arange(s.site.begin, s.site.end, 600.0)
    height, _ = sun(t, s.site.latitude, s.site.longitude)
    growth = float(s.rng.uniform(6, 15))
    share = (t - s.site.begin) / (s.site.end - s.site.begin)
    return by_rate(s, t, darkness(height) * growth**share, growth=round(growth, 1))


def dark(s: Scene) -> Plant:
    """All night alike: insects at a lamp."""
    t = np.arange(s.site.begin, s.site.end, 600.0)
    height, _ = sun(t, s.site.latitude, s.site.longitude)
    return by_rate(s, t, darkness(height))


def dusk(s: Scene) -> Plant:
    return _twilight(s, falling=True)


def dawn(s: Scene) -> Plant:
    return _twilight(s, falling=False)


def _twilight(s: Scene, falling: bool) -> Plant:
    """Some minutes after the sun passes a height a little below level: a lamp's own switch, birds."""
    t = s.minutes()
    height, _ = sun(t, s.site.latitude, s.site.longitude)
    at = float(s.rng.uniform(-5.5, -1.5))
    above = height > at
    begins = t[1:][(above[:-1] & ~above[1:]) if falling else (~above[:-1] & above[1:])]
    begins = begins[s.rng.random(len(begins)) < 0.9]
    return in_windows(s, begins, float(s.rng.uniform(600, 1500)), (2, 5), height=round(at, 1))


SUN = ("time_of_day", "traffic", "road_lights")
DRIFT = Wish(days=(50, 90), months=(2, 3, 8, 9))

MECHANISMS = (
    Mechanism("sun_known", low_sun, ("low_sun",), ("follows_sun",), SUN,
              "a rush at the same hours", Wish(look="known", days=(25, 60))),
    Mechanism("sun_unknown", low_sun, ("low_sun", "mirrored_sun"), ("follows_sun",), SUN,
              "a rush at the same hours; nobody says where the device looks", Wish(look="hidden", days=(25, 60))),
    Mechanism("sun_mirrored", low_sun, ("mirrored_sun", "low_sun"), ("follows_sun",), SUN,
              "a rush at the same hours; the device looks elsewhere", Wish(look="off", days=(25, 60))),
    Mechanism("headlights", headlights, ("road_lights", "dark"), (), ("frost", "time_of_day", "traffic", "two_times"),
              "cold nights, and the site's own rush", Wish(look="hidden", months=DARK_SEASON, days=(35, 80))),
    Mechanism("road_by_day", road_by_day, ("traffic", "time_of_day", "week", "two_times"), ("shifts",),
              ("road_lights", "heat", "wind"),
              "the site's own rush is at the same hours", Wish(days=(25, 60))),
    Mechanism("dark", dark, ("dark",), (), ("road_lights", "frost", "time_of_day"),
              "cold nights", Wish(look="hidden", days=(25, 75))),
    Mechanism("spider", spider, ("dark", "trend"), ("change",), ("frost", "road_lights"),
              "nights get colder meanwhile", Wish(look="hidden", months=(7, 8, 9), days=(40, 80))),
    Mechanism("dusk", dusk, ("follows_sun",), ("dark", "low_sun", "time_of_day"), ("traffic", "two_times"),
              "the evening rush", Wish(look="hidden", days=DRIFT.days, months=DRIFT.months)),
    Mechanism("dawn", dawn, ("follows_sun",), ("dark", "low_sun", "time_of_day"), ("traffic", "dew"),
              "the morning rush", Wish(look="hidden", days=DRIFT.days, months=DRIFT.months)),
)  # fmt: skip
