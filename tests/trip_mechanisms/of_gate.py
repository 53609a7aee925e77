"""Mechanisms that follow a gate, this one or another."""

import numpy as np

from tests.trip_mechanisms.clock import Floats
from tests.trip_mechanisms.model import Mechanism, Plant, Wish
from tests.trip_mechanisms.scene import Scene, steady


def shaken(s: Scene) -> Plant:
    """The gate's own life has made the trips already."""
    assert s.life is not None
    windows = tuple((c.closed, c.closed + 4.0) for c in s.life.cycles)
    share = len(s.life.shaken) / max(1, len(windows))
    return Plant(np.array(s.life.shaken), windows, {"share_of_closings": round(share, 2)})


def moving_leaf(s: Scene) -> Plant:
    """The leaf comes into the field at one place of its way, when closing."""
    assert s.life is not None
    place, chance = float(s.rng.uniform(0.2, 0.85)), float(s.rng.uniform(0.3, 0.65))
    cycles = [c for c in s.life.cycles if s.rng.random() < chance]
    times = np.array([c.closing + place * (c.closed - c.closing) for c in cycles])
    times = times + s.rng.normal(0, 0.3, len(times))
    windows = tuple((c.closing, c.closed) for c in s.life.cycles)
    return Plant(times, windows, {"share_of_way": round(place, 2), "share_of_closings": round(chance, 2)})


def neighbour(s: Scene) -> Plant:
    """Another gate's movement shakes this sensor, or reflects into it."""
    starts = np.concatenate([steady(s, float(s.rng.uniform(5, 12))), _rush(s)])
    starts = np.sort(starts)
    hit = starts[s.rng.random(len(starts)) < s.rng.uniform(0.3, 0.6)]
    travel = float(s.rng.uniform(8, 20))
    windows = tuple((float(b), float(b) + travel) for b in starts)
    figures = {"travel_s": round(travel, 1), "share_of_movements": round(len(hit) / len(starts), 2)}
    return Plant(hit + s.rng.uniform(0, travel, len(hit)), windows, figures, neighbour=starts)


def _rush(s: Scene) -> Floats:
    """Some of its movements at one hour of the day, so that the hour seems to matter."""
    hour = float(s.rng.uniform(6, 18))
    days = s.days()
    return s.site.at(days, hour * 3600 + s.rng.uniform(0, 3600, len(days)))


def one_sensor(s: Scene) -> Plant:
    return Plant(steady(s, float(s.rng.uniform(4, 9))), ((s.site.begin, s.site.end),), sensor=1)


OWN = Wish(moves="all", acts=False, days=(18, 60), busy=(10, 26), fine=True)

MECHANISMS = (
    Mechanism("shake", shaken, ("after_closed", "while_moving"), (), ("time_of_day", "traffic", "two_times"),
              "the gate closes more often in the rush", OWN, shake="once", from_gate=True),
    Mechanism("chain", shaken, ("after_closed", "chain", "while_moving"), (), ("time_of_day", "traffic", "two_times"),
              "the gate closes more often in the rush", OWN, shake="chain", from_gate=True),
    Mechanism("moving_leaf", moving_leaf, ("while_moving",), (), ("time_of_day", "traffic", "after_closed"),
              "the gate moves more often in the rush", OWN, from_gate=True),
    Mechanism("neighbour", neighbour, ("neighbour", "while_moving"), (), ("time_of_day", "traffic"),
              "the other gate has an hour of its own", Wish(days=(18, 60), moves="all")),
    Mechanism("one_sensor", one_sensor, ("one_sensor",), ("constant_rate", "no_pattern"), ("traffic", "time_of_day"),
              "vehicles trip the other sensor as well", Wish(days=(18, 60), sensors=2)),
)  # fmt: skip
