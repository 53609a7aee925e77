"""What stood in the way of a finding: words with two meanings, days without traffic, closings, weak evidence."""

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from diagnose.triplog import records
from diagnose.triplog.agenda import by_clock, by_day
from diagnose.triplog.aside import Raw, set_aside
from diagnose.triplog.conditions import after_power, weather_tests
from diagnose.triplog.exact import most_shown
from diagnose.triplog.grid import make_grid, weekday
from diagnose.triplog.judge import _outdone, judge
from diagnose.triplog.meaning import story_says
from diagnose.triplog.near_vehicles import beside_vehicles
from diagnose.triplog.records import DAY_S, Count, Floats, Log, Weather
from diagnose.triplog.words import begins_to_shut, power_lost
from tests.triplog.made import AHEAD, BEGIN, even, log_of, thinned, with_trips

DAYS = 40


@pytest.mark.parametrize(
    ("word", "lost"),
    [("restart after power loss", False), ("power loss", True), ("mains back after outage", False),
     ("power restored", False), ("mains failure", True), ("power_up", False)],
)  # fmt: skip
def test_a_return_after_a_loss_is_a_return(word: str, lost: bool) -> None:
    assert power_lost(word) == lost


@pytest.mark.parametrize(
    ("word", "shuts"),
    [("gate closing", True), ("close command", True), ("gate closed", False), ("gate opening", False),
     ("arm lowering", True), ("shut", False)],
)  # fmt: skip
def test_words_that_begin_to_shut(word: str, shuts: bool) -> None:
    assert begins_to_shut(word) == shuts


def plain(trips: Floats, **more: Any) -> Log:
    """A site with nothing but these trips."""
    log = log_of(np.random.default_rng(1), np.zeros(0), DAYS)
    trips = np.sort(trips)
    bare = replace(log, trips=trips, sensor=np.zeros(len(trips), np.int64), sensors=("a",), weather=None, place=None)
    return replace(bare, **{"moves": np.zeros(0), "passes": np.zeros(0), **more})


def test_a_supply_that_was_gone_for_a_moment_came_back_all_the_same() -> None:
    """Nobody knows how long it was gone, but what settles afterwards trips in the half hour after."""
    rng = np.random.default_rng(2)
    back = BEGIN + np.sort(rng.uniform(0, DAYS * DAY_S, 20))
    trips = np.concatenate([(back[:, None] + rng.uniform(5, 1200, (20, 6))).ravel(), thinned(rng, DAYS, 1, even)])
    none, others = np.zeros(0), BEGIN + np.arange(0, DAYS * DAY_S, 400.0)
    times = np.sort(trips)
    raw = Raw(
        times, np.zeros(len(times), np.int64), np.full(len(times), np.nan), {}, none, np.zeros(0, np.int64), back,
        np.zeros(len(back), np.int64), np.sort(np.concatenate([times, back, others])), AHEAD, None,
    )  # fmt: skip
    left = set_aside(raw)
    log = plain(left.raw.trips, outages=left.outages, returns=left.returns)
    test = after_power(make_grid(log), log)
    assert (
        len(left.returns) == 20
        and len(left.outages) < 10
        and test is not None
        and test.p < 1e-6
        and test.count.inside >= 20
    )


def test_days_without_traffic_have_run_as_well() -> None:
    """Trips on working days from eight to five, where weekends weigh little because few vehicles come: told as the
    working days' all the same."""
    rng = np.random.default_rng(3)
    local = BEGIN - 3600 + DAY_S * np.arange(DAYS)
    working = np.arange(DAYS) % 7 < 5
    trips = np.concatenate([day + 3600 * rng.uniform(8, 17, 7) for day in local[working]])
    log = plain(np.concatenate([trips, thinned(rng, DAYS, 0.3, even)]))
    grid = make_grid(log)
    busy = grid.reweighted(np.where(weekday(grid.local) >= 5, 0.3, 1.0))
    week = next(t for t in by_day(busy, by_clock(busy, log)) if t.name == "week")
    assert re.fullmatch(r"0[78]:.*–1[67]:.* on working days", week.count.detail)


def test_what_comes_once_the_gate_closes_is_not_the_vehicle_let_in() -> None:
    rng = np.random.default_rng(4)
    opens = BEGIN + np.sort(rng.choice(np.arange(0, DAYS * DAY_S, 900.0), 200, replace=False))
    leaf, near = opens + 28 + rng.uniform(0, 2, 200), opens + 12
    log = plain(np.concatenate([leaf, near]), opens=opens)
    kept = beside_vehicles(replace(log, closing=opens + 25))[0]
    assert np.array_equal(kept.trips, np.sort(leaf))
    assert len(beside_vehicles(log)[0].trips) in (0, len(log.trips))  # without the closings nothing tells them apart


def test_a_p_value_stands_for_no_more_than_it_can() -> None:
    """1 % stands for 8 to 1 at most, 5 % for 2.5 to 1 (the authors' own table)."""
    assert np.exp(most_shown(0.01)) == pytest.approx(7.99, abs=0.02)
    assert np.exp(most_shown(0.05)) == pytest.approx(2.46, abs=0.02)
    assert most_shown(0.5) == 0.0 and most_shown(0.0) > 100


def test_bursts_come_before_a_finding_that_makes_up_next_to_nothing() -> None:
    """A weak finding of one trip in thirty does not head a log of bursts; one of a third of the trips does."""

    def found(name: str, inside: int, log_bayes: float) -> records.Tested:
        return records.Tested(name, Count("", inside, 300, 0.01), 9.0, 5.0, 15.0, 1e-4, log_bayes, 1)

    bursts = found("bursts", 250, 80.0)
    assert _outdone(found("while_moving", 12, 5.0), [bursts])
    assert not _outdone(found("while_moving", 100, 5.0), [bursts])
    assert not _outdone(found("while_moving", 12, 90.0), [bursts])


def rainy(hours_after: float) -> Log:
    """Rain of three hours every fourth day; twenty times the trips in it, ten times for so long after it."""
    rng = np.random.default_rng(6)
    times = BEGIN + 1800.0 * np.arange(DAYS * 48, dtype=np.float64)
    hour = (times - BEGIN) / 3600 % 96
    readings = Weather(times, {"rain": np.where((hour >= 30) & (hour < 33), 2.0, 0.0)})

    def rate(t: Floats) -> Floats:
        at = (t - BEGIN) / 3600 % 96
        return np.where((at >= 30) & (at < 33), 20.0, np.where((at >= 33) & (at < 33 + hours_after), 10.0, 0.3))

    log = log_of(rng, np.zeros(0), DAYS)
    return with_trips(rng, replace(log, weather=readings, place=None), thinned(rng, DAYS, 2.0, rate))


def test_how_long_the_rate_stays_raised_after_rain_is_said() -> None:
    for hours, says in ((4.0, " 4 h after rain"), (0.0, "")):
        log = rainy(hours)
        assert log.weather
        rain = next(t for t in weather_tests(make_grid(log), log.weather) if t.name == "rain")
        assert ("stays raised" in rain.count.detail) == bool(says) and says in rain.count.detail


def test_a_delivery_at_the_hour_of_a_finding_is_named_and_set_apart() -> None:
    """A sprinkler every second day at a quarter past five; a delivery then on every working day."""
    rng = np.random.default_rng(7)
    local = BEGIN - 3600 + DAY_S * np.arange(DAYS)
    sprinkler = (local[::2, None] + 5.25 * 3600 + rng.uniform(0, 1400, (len(local[::2]), 6))).ravel()
    delivery = local[np.arange(DAYS) % 7 < 6] + 5.5 * 3600
    others = BEGIN + np.sort(rng.uniform(0, DAYS * DAY_S, 200))
    log = plain(np.concatenate([sprinkler, thinned(rng, DAYS, 1, even)]), opens=np.sort([*delivery, *others]))
    verdict = judge(log)
    assert verdict.patterns[0].name == "every_nth_day"
    said = " ".join(story_says(verdict, verdict.patterns[0]))
    assert "Vehicles were let in at these hours on" in said and "no sign that they go with the vehicles" in said
