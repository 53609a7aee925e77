"""Mechanisms that follow the clock or the calendar."""

import numpy as np

from tests.trip_mechanisms.clock import HOUR, Bools, Floats, hour_of, weekday_of
from tests.trip_mechanisms.model import Mechanism, Plant, Wish
from tests.trip_mechanisms.scene import Scene, by_rate, clock_text, in_windows


def sprinkler(s: Scene) -> Plant:
    """Every second day at a fixed hour; the jet passes the beam once in a turn; rain holds it back on some days."""
    days = _nth(s, 2, skipped=0.15)
    length, turn = float(s.rng.uniform(14, 30)) * 60, round(float(s.rng.uniform(23, 70)), 1)
    start, seen = _near_delivery(s), float(s.rng.uniform(0.5, 0.8))
    begins = s.site.at(days, start)
    times = np.concatenate([_turns(s, float(b), float(b) + length, turn, seen, 0.4) for b in begins])
    windows = tuple((float(b), float(b) + length + 5) for b in begins)
    return Plant(times, windows, {"nth": 2, "start": clock_text(start), "turn_s": turn, "window_s": round(length)})


def _turns(s: Scene, begin: float, end: float, turn: float, seen: float, jitter: float) -> Floats:
    times = np.arange(begin + s.rng.uniform(2, turn), end, turn)
    times = times[s.rng.random(len(times)) < seen]
    return times + s.rng.normal(0, jitter, len(times))


def nth_day(s: Scene) -> Plant:
    n = int(s.rng.integers(3, 6))
    start = float(s.rng.uniform(1, 22)) * HOUR
    begins = s.site.at(_nth(s, n, skipped=0.05), start)
    return in_windows(s, begins, float(s.rng.uniform(900, 2400)), (5, 9), nth=n, start=clock_text(start))


def _nth(s: Scene, n: int, skipped: float) -> Floats:
    days = s.days()[int(s.rng.integers(n)) :: n]
    return days[s.rng.random(len(days)) >= skipped]


def _near_delivery(s: Scene) -> float:
    """So close to the daily vehicle that the hour alone does not part them."""
    return s.site.delivery + float(s.rng.uniform(-900, 300))


def weekday_hour(s: Scene) -> Plant:
    """A lorry that stands in the field once a week, a little earlier or later."""
    day = int(s.rng.integers(5))
    days = s.days()[s.site.weekday(s.days()) == day]
    start = _near_delivery(s)
    begins = s.site.at(days, start) + s.rng.uniform(-400, 400, len(days))
    return in_windows(s, begins, float(s.rng.uniform(600, 1500)), (6, 11), weekday=day, start=clock_text(start))


def workdays(s: Scene) -> Plant:
    """A workshop next door, on days of work only."""
    begin, end = int(s.rng.integers(6, 9)), int(s.rng.integers(15, 19))
    t = np.arange(s.site.begin, s.site.end, 600.0)
    wall = s.site.clock.wall(t)
    inside: Bools = (weekday_of(wall) < 5) & (hour_of(wall) >= begin) & (hour_of(wall) < end)
    return by_rate(s, t, inside.astype(float), begin_h=begin, end_h=end)


def shift_change(s: Scene) -> Plant:
    """People walk through at three hours of the working day."""
    first = float(s.rng.choice([5.5, 6.0, 6.5, 7.0]))
    days = s.days()[s.site.weekday(s.days()) < 5]
    begins = np.concatenate([s.site.at(days, ((first + 8 * k) % 24) * HOUR - 600) for k in range(3)])
    return in_windows(s, np.sort(begins), 1200.0, (1.2, 2.5), first_h=first)


def timer(s: Scene) -> Plant:
    """Every day when the wall shows the same; so also after the change of the clock."""
    return _daily(s, [_near_delivery(s)])


def two_timers(s: Scene) -> Plant:
    first = float(s.rng.uniform(1, 10)) * HOUR
    return _daily(s, [first, first + float(s.rng.uniform(4, 12)) * HOUR])


def _daily(s: Scene, starts: list[float]) -> Plant:
    begins = np.concatenate([s.site.at(s.days(), start) for start in starts])
    begins = begins[s.rng.random(len(begins)) < 0.93]
    text = " ".join(clock_text(x) for x in starts)
    return in_windows(s, np.sort(begins), float(s.rng.uniform(240, 900)), (1.5, 4), start=text)


def timer_winter(s: Scene) -> Plant:
    """A time switch nobody sets: on the wall it jumps by an hour when the clock changes."""
    start = float(s.rng.uniform(2, 22)) * HOUR
    begins = s.site.begin + start + 86400.0 * s.days()
    begins = begins[s.rng.random(len(begins)) < 0.93]
    return in_windows(s, begins, float(s.rng.uniform(240, 900)), (1.5, 4), start=clock_text(start))


def rotor_runs(s: Scene) -> Plant:
    """Something turns for an hour now and then; each run begins anew."""
    turn, seen = round(float(s.rng.uniform(19, 80)), 1), float(s.rng.uniform(0.35, 0.7))
    begins = np.sort(s.rng.uniform(s.site.begin, s.site.end - 2 * HOUR, s.rng.integers(10, 22)))
    ends = begins + s.rng.uniform(1200, 4800, len(begins))
    runs = [_turns(s, float(a), float(b), turn, seen, 0.25) for a, b in zip(begins, ends, strict=True)]
    windows = tuple((float(a), float(b) + 5) for a, b in zip(begins, ends, strict=True))
    return Plant(np.sort(np.concatenate(runs)), windows, {"turn_s": turn, "seen": round(seen, 2)})


def long_beat(s: Scene) -> Plant:
    """One beat through the whole log, of which some are seen; it goes into no day without a rest."""
    beat = _uneven(s)
    seen = float(s.rng.uniform(0.15, 0.5))
    times = _turns(s, s.site.begin, s.site.end, beat, seen, 1.5)
    return Plant(times, ((s.site.begin, s.site.end),), {"turn_s": round(beat, 1), "seen": round(seen, 2)})


def _uneven(s: Scene) -> float:
    while True:
        beat = float(s.rng.uniform(700, 5600))
        if 0.2 < (86400 / beat) % 1 < 0.8:
            return round(beat, 1)


LONG = Wish(days=(45, 90), delivery=True)
HOUR_ONLY = ("time_of_day",)

MECHANISMS = (
    Mechanism("sprinkler", sprinkler, ("every_nth_day", "time_of_day", "period", "spacing"), (),
              ("traffic", "week", "follows_sun"),
              "a vehicle comes at that minute on every working day", Wish(days=(26, 60), delivery=True, fine=True)),
    Mechanism("nth_day", nth_day, ("every_nth_day", "period"), HOUR_ONLY, ("week", "follows_sun"),
              "the weekdays it falls on look like a rule", Wish(days=(45, 90))),
    Mechanism("weekday_hour", weekday_hour, ("weekday_hour", "week"), ("time_of_day", "period"), ("traffic",),
              "a vehicle comes at that hour on every working day", LONG),
    Mechanism("workdays", workdays, ("week", "time_of_day"), ("shifts", "traffic"), ("heat", "wind", "two_times"),
              "the site's own traffic is at the same hours", Wish(days=(25, 60))),
    Mechanism("shift_change", shift_change, ("shifts", "time_of_day", "two_times", "week"), ("traffic", "period"),
              ("road_lights",), "vehicles come at the change of shift as well", Wish(days=(25, 60))),
    Mechanism("timer", timer, HOUR_ONLY, (), ("follows_sun", "traffic", "low_sun"),
              "a vehicle comes at that minute on every working day",
              Wish(days=(30, 80), changing=True, delivery=True)),
    Mechanism("two_timers", two_timers, ("two_times", "time_of_day"), ("period",), ("traffic",),
              "the rush", Wish(days=(20, 60))),
    Mechanism("timer_winter", timer_winter, ("clock_jump", "time_of_day"), ("two_times", "change", "period"),
              ("follows_sun", "traffic"), "sun and traffic move against the clock as well",
              Wish(days=(40, 80), changing=True)),
    Mechanism("rotor_runs", rotor_runs, ("spacing", "period"), ("bursts",), ("time_of_day", "change"),
              "walk tests are bursts as well", Wish(days=(18, 50), fine=True)),
    Mechanism("long_beat", long_beat, ("spacing", "period"), (), ("constant_rate", "time_of_day"),
              "seen rarely enough to look like chance", Wish(days=(18, 50))),
)  # fmt: skip
