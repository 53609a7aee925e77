"""Mechanisms of the rate alone, and logs in which nothing is planted but a constant rate."""

import numpy as np

from tests.trip_mechanisms.clock import Floats
from tests.trip_mechanisms.model import Mechanism, Plant, Reading, Wish
from tests.trip_mechanisms.scene import Scene, by_rate, steady


def bursts(s: Scene) -> Plant:
    """A loose contact: many trips within seconds, at any time."""
    begins = steady(s, float(s.rng.uniform(0.5, 0.9)))
    many = s.rng.integers(4, 13, len(begins))
    gap = float(s.rng.uniform(1.0, 4.0))
    times = [b + np.cumsum(0.4 + s.rng.exponential(gap, n)) for b, n in zip(begins, many, strict=True)]
    windows = tuple((float(x[0]) - 1, float(x[-1]) + 1) for x in times)
    return Plant(np.sort(np.concatenate(times)), windows, {"bursts": len(begins), "gap_s": round(gap, 1)})


def step(s: Scene) -> Plant:
    """Somebody changed something on one day."""
    t = np.arange(s.site.begin, s.site.end, 600.0)
    at = s.site.begin + s.rng.uniform(0.3, 0.7) * (s.site.end - s.site.begin)
    return by_rate(s, t, (t >= at).astype(float), at_day=round(float(at - s.site.begin) / 86400, 2))


def growing(s: Scene) -> Plant:
    """Dirt on a window."""
    t = np.arange(s.site.begin, s.site.end, 600.0)
    growth = float(s.rng.uniform(8, 25))
    share: Floats = (t - s.site.begin) / (s.site.end - s.site.begin)
    return by_rate(s, t, growth**share, growth=round(growth, 1))


def constant(s: Scene) -> Plant:
    """Nothing is planted; the background is all there is."""
    return Plant(figures={"background_a_day": round(len(s.background) / s.site.days, 2)})


def constant_with_reading(s: Scene) -> Plant:
    t = np.arange(s.site.begin, s.site.end, 900.0)
    values = 24.2 + 0.4 * np.sin(2 * np.pi * t / 86400) + s.rng.normal(0, 0.3, len(t))

    def at(moments: Floats) -> Floats:
        now: Floats = values[np.clip(((moments - t[0]) // 900).astype(int), 0, len(t) - 1)]
        return now

    return Plant(reading=Reading("supply_v", at, 900.0))


NOTHING = ("no_pattern", "constant_rate")
RATE = (3.0, 11.0)

MECHANISMS = (
    Mechanism("bursts", bursts, ("bursts",), ("no_pattern",), ("change", "time_of_day", "spacing"),
              "walk tests are bursts as well", Wish(days=(25, 60), fine=True)),
    Mechanism("step", step, ("change",), ("trend",), ("rain", "frost", "heat", "traffic"),
              "the traffic grows meanwhile", Wish(days=(25, 75), growth=1.8)),
    Mechanism("growing", growing, ("trend",), ("change",), ("traffic", "frost", "heat"),
              "the traffic grows meanwhile", Wish(days=(35, 90), growth=1.8)),
    Mechanism("null_constant", constant, NOTHING, (), ("traffic", "time_of_day", "week"),
              "vehicles let in give hours and weekdays a shape", Wish(background=RATE, days=(14, 90))),
    Mechanism("null_traffic", constant, NOTHING, (), ("traffic", "time_of_day", "while_moving"),
              "heavy traffic, and hardly another trip", Wish(background=(0.3, 1.2), busy=(18, 45))),
    Mechanism("null_quiet", constant, NOTHING, (), ("change", "trend"),
              "few trips of any kind", Wish(background=(0.3, 0.7), busy=(2, 6), days=(14, 40))),
    Mechanism("null_weather", constant, NOTHING, (), ("rain", "wind", "frost", "heat", "fog"),
              "every kind of weather is at hand", Wish(background=RATE, weather=True, look="known")),
    Mechanism("null_delivery", constant, NOTHING, (), ("time_of_day", "weekday_hour", "trend"),
              "a vehicle at the same minute every working day, and traffic that grows",
              Wish(background=(1.0, 5.0), delivery=True, growth=2.2, days=(30, 90))),
    Mechanism("null_reading", constant_with_reading, NOTHING, (), ("column", "one_sensor"),
              "a reading that goes up and down by the day, and two sensors",
              Wish(background=(2.0, 8.0), sensors=2, days=(16, 40))),
    Mechanism("null_outages", constant, NOTHING, (), ("after_power", "change", "week"),
              "many long outages", Wish(background=RATE, outages=(5, 9), outage_hours=(3, 30), days=(30, 75))),
    Mechanism("null_opens", constant, NOTHING, (), ("while_moving", "after_closed", "chain"),
              "each trip opens the gate, so movements follow trips",
              Wish(background=RATE, acts=True, moves="all", days=(14, 60))),
)  # fmt: skip
