"""Patterns by other clocks: every n-th day, summer time, sunrise, and the sun in an unknown part of the sky."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from diagnose.calc.sun import Direction, angle_between_deg
from diagnose.triplog.agenda import by_clock, by_day, several_times
from diagnose.triplog.episodes import joined
from diagnose.triplog.grid import Grid, kind_of_hour, make_grid
from diagnose.triplog.headlights import ROAD_WORKING, headlights
from diagnose.triplog.judge import judge
from diagnose.triplog.records import DAY_S, Clock, Floats, Log, Place
from diagnose.triplog.sky import sun_vectors
from diagnose.triplog.sun_patch import Patch, again
from diagnose.triplog.sun_table import sun_angles
from tests.triplog.made import BEGIN, PLACE, even, log_of, near_sun, thinned, with_trips

SPRING = BEGIN + 30 * DAY_S
CHANGING = Clock("changes", np.array([-np.inf, SPRING]), np.array([3600.0, 7200.0]))


def logged(seed: int, days: int, trips: Floats, clock: Clock | None = None, place: Place | None = PLACE) -> Log:
    rng = np.random.default_rng(seed)
    log = log_of(rng, np.zeros(0), days)
    log = replace(log, clock=clock or log.clock, place=place, weather=None)
    return with_trips(rng, log, np.concatenate([trips, thinned(rng, days, 1, even)]))


def daily(seed: int, days: int, hour: float, every: int = 1, ahead: float = 3600.0) -> Floats:
    """Four trips in twenty minutes from this hour of a fixed clock on, on every so manieth day."""
    rng = np.random.default_rng(seed)
    starts = BEGIN - ahead + DAY_S * np.arange(1, days, every) + hour * 3600
    return np.concatenate([start + rng.uniform(0, 1200, 4) for start in starts])


def best(grid: Grid, log: Log) -> str:
    return max(by_clock(grid, log), key=lambda t: t.log_bayes).name


def test_every_third_day_is_told_from_every_day() -> None:
    log = logged(1, 45, daily(1, 45, 5.0, every=3))
    first = judge(log).patterns[0]
    assert first.name == "every_nth_day" and "every 3 days" in first.count.detail
    every = logged(1, 45, daily(1, 45, 5.0))
    assert judge(every).patterns[0].name == "time_of_day"


def test_a_time_is_used_on_random_days_is_no_every_nth_day() -> None:
    found = 0
    for seed in range(15):
        rng = np.random.default_rng(seed)
        trips = daily(seed, 60, 5.0).reshape(-1, 4)
        log = logged(seed, 60, trips[rng.random(len(trips)) < 0.5].ravel())
        grid = make_grid(log)
        found += any("days, as on" in t.count.detail and t.p < 0.05 for t in by_day(grid, by_clock(grid, log)))
    assert found <= 1


def test_a_timer_that_nobody_sets_does_not_follow_summer_time() -> None:
    fixed = logged(2, 60, daily(2, 60, 11.0), CHANGING, None)
    assert best(make_grid(fixed), fixed) == "clock_jump"
    wall = daily(2, 60, 11.0)
    follows = logged(2, 60, np.where(wall >= SPRING, wall - 3600, wall), CHANGING, None)
    assert best(make_grid(follows), follows) == "time_of_day"


def test_a_start_that_moves_with_sunset_is_told_from_the_clock() -> None:
    days, place = 60, Place(50.0, 10.0)
    up = sun_angles(times := BEGIN + 60.0 * np.arange(days * 1440, dtype=np.float64), place)[1]
    sunset = times[:-1][(up[:-1] > 0) & (up[1:] <= 0)]
    rng = np.random.default_rng(3)
    trips = np.concatenate([s + rng.uniform(600, 1500, 4) for s in sunset])
    log = logged(3, days, trips, None, place)
    first = judge(log).patterns[0]
    assert first.name == "follows_sun" and "sunset" in first.count.detail


def test_the_sun_is_found_without_a_look() -> None:
    aim = Direction(8.0, 150.0)
    rng = np.random.default_rng(4)
    place = Place(50.0, 10.0)
    trips = thinned(rng, 60, 2.0, lambda t: 50.0 * near_sun(t, aim, 6).astype(float))
    log = logged(4, 60, trips, None, place)
    first = judge(log).patterns[0]
    assert first.name in ("sun_patch", "low_sun") and "possible again" in first.count.detail
    weight = first.weight
    assert weight is not None
    grid = make_grid(log)
    centre = sun_vectors(grid.middle[weight > weight.mean()], place).mean(0)
    found = Direction(float(np.degrees(np.arcsin(centre[2]))), float(np.degrees(np.arctan2(centre[0], centre[1]))))
    assert angle_between_deg(found, aim) < 5


def test_two_times_lie_apart() -> None:
    """Nine hours are longer than the widest window: two with a short break between them are no two times."""
    rng = np.random.default_rng(2)

    def nine_hours(times: Floats) -> Floats:
        return np.where(((times + 3600) / 3600 - 7.5) % 24 < 9, 12.0, 0.0)

    grid = make_grid(logged(2, 60, thinned(rng, 60, 1.0, nine_hours)))
    weight = several_times(grid).weight
    assert weight is not None
    hours = np.unique(grid.hour[weight > weight.min()])
    steps = np.diff(hours)
    assert steps.max() > len(hours) / 12 / 4  # the break against half of one window's length, in hours


def test_the_dates_on_which_the_sun_is_there_again() -> None:
    """A patch that only the December sun reaches is announced for winter and for no other season."""
    patch = Patch(170.0, 14.0, 20.0, 3.0)
    said = again(patch, Place(50.0, 10.0), BEGIN + 60 * DAY_S, Clock("UTC", np.array([-np.inf]), np.array([0.0])))
    assert "2026-12" in said and "2027-01" in said and "2026-06" not in said
    assert "within a year" in again(Patch(0.0, 40.0, 10.0, 5.0), Place(50.0, 10.0), BEGIN, CHANGING)


def test_the_table_of_the_sun_agrees_with_the_calculator() -> None:
    from datetime import UTC, datetime

    from diagnose.calc.sun import sun_position

    for place in (PLACE, Place(-33.0, 151.0), Place(69.0, -50.0)):
        times = BEGIN + np.random.default_rng(1).uniform(0, 400 * DAY_S, 40)
        for t, a, e in zip(times, *sun_angles(times, place), strict=True):
            exact = sun_position(place.latitude_deg, place.longitude_deg, datetime.fromtimestamp(t, UTC))
            assert angle_between_deg(exact, Direction(float(e), float(a))) < 0.05


def test_headlights_need_the_dark() -> None:
    """Trips by the traffic of a road, at all hours or by day alone, are no headlights; in the dark alone they are."""
    place, days = Place(50.0, 10.0), 50

    def road(times: Floats) -> Floats:
        hour = ((times + 3600) % DAY_S // 3600).astype(int)
        return np.asarray(ROAD_WORKING[hour])

    def dark(times: Floats) -> Floats:
        return (sun_angles(times, place)[1] < -5).astype(float)

    def strength(rate: Callable[[Floats], Floats]) -> float:
        log = logged(6, days, thinned(np.random.default_rng(6), days, 0.6, rate), None, place)
        test = headlights(make_grid(log), log, place)
        return test.log_bayes if test else 0.0

    assert strength(lambda t: road(t) * dark(t) * 3) > 20
    assert strength(lambda t: road(t) * (1 - dark(t))) < 2


def test_saturdays_are_no_working_days() -> None:
    """5 January 2026 is a Monday: hours of Saturday and Sunday have numbers of their own."""
    noon = BEGIN + 12 * 3600 + DAY_S * np.arange(7, dtype=np.float64)
    assert kind_of_hour(noon).tolist() == [12] * 5 + [36] * 2


def test_stretches_within_others_do_not_cut_them_short() -> None:
    spans = np.array([[50.0, 60], [0, 100], [10, 20], [90, 95], [150, 160], [160, 170]])
    assert joined(spans).tolist() == [[0, 100], [150, 170]]
