"""Planted patterns are named first; even logs are called patternless."""

from dataclasses import replace

import numpy as np
import pytest

from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import FALSE_DISCOVERY, judge, visible_ratio
from diagnose.triplog.records import DAY_S, Log, TripLogError
from diagnose.triplog.sources import lags
from tests.shipped import knowledge
from tests.triplog.made import PLANTS, even, log_of, planted, thinned, with_trips

SEEDS, FEW_SEEDS = 20, 3
MOST_FALSE = 0.05


def first_named(name: str, seed: int) -> str:
    patterns = judge(planted(name, seed)).patterns
    return patterns[0].name if patterns else "none"


@pytest.mark.parametrize("name", PLANTS)
def test_a_planted_pattern_is_named_first(name: str) -> None:
    assert [first_named(name, seed) for seed in range(FEW_SEEDS)] == [name] * FEW_SEEDS


@pytest.mark.long
@pytest.mark.parametrize("name", PLANTS)
def test_a_planted_pattern_is_named_first_whatever_the_seed(name: str) -> None:
    assert [first_named(name, 100 + seed) for seed in range(SEEDS)] == [name] * SEEDS


def patternless(seed: int) -> Log:
    """An even rate: 20, 40 or 90 days, one to ten episodes a day, with all there is to be misled by."""
    rng = np.random.default_rng(seed)
    days, per_day = float(rng.choice([20, 40, 90])), float(rng.choice([1, 3, 10]))
    return with_trips(rng, log_of(rng, np.zeros(0), days), thinned(rng, days, per_day, even))


def false_alarms(seeds: range) -> int:
    return sum(bool(judge(patternless(seed)).patterns) for seed in seeds)


def test_few_even_logs_raise_a_pattern() -> None:
    assert false_alarms(range(150)) <= MOST_FALSE * 150


@pytest.mark.long
def test_few_of_a_thousand_even_logs_raise_a_pattern() -> None:
    found = false_alarms(range(1000, 2000))
    print(f"false alarms: {found} of 1000")
    assert found <= MOST_FALSE * 1000


def test_an_even_log_says_what_it_would_have_seen() -> None:
    verdict = judge(patternless(4))
    assert not verdict.patterns
    ratios = {test.name: ratio for test, ratio in verdict.seen}
    assert ratios.keys() == {test.name for test, _ in verdict.tests}
    assert all(ratio > 1 for ratio in ratios.values())


def test_the_ratio_that_would_have_been_seen_is_seen_so_often() -> None:
    """Simulated: logs with that ratio pass the test in four of five, logs with a third of it hardly ever."""
    n, share, level = 120, 0.1, 0.003
    ratio = visible_ratio(n, share, level)
    rng = np.random.default_rng(1)
    needed = next(k for k in range(n) if _doubled(k, n, share) <= level)
    inside = share * ratio / (share * ratio + 1 - share)
    assert 0.78 < float((rng.binomial(n, inside, 20_000) >= needed).mean()) < 0.83


def _doubled(k: int, n: int, share: float) -> float:
    from scipy import stats

    return 2 * float(stats.binom.sf(k - 1, n, share))


def test_nothing_is_visible_in_too_few_episodes() -> None:
    assert visible_ratio(3, 0.5, 0.001) == float("inf")


def test_a_burst_counts_once() -> None:
    log = planted("rain", 1)
    assert len(make_grid(log).episodes) < len(log.trips)
    assert judge(log, 1.0).episodes > judge(log).episodes > judge(log, 3600.0).episodes


def test_busy_hours_are_no_pattern_of_their_own() -> None:
    """Trips in step with traffic: named as that, and no time of day beside it."""
    verdict = judge(planted("traffic", 3))
    assert [p.name for p in verdict.patterns] == ["traffic"]
    assert verdict.traffic


def test_the_interval_holds_the_planted_ratio() -> None:
    held = [p for seed in range(10) if (p := judge(planted("frost", seed)).patterns[0]).low < 6 < p.high]
    assert len(held) >= 7


def test_a_movement_that_answers_a_trip_is_no_cause() -> None:
    """The gate opens one second after each trip; the next trip of the burst must not look caused by it."""
    rng = np.random.default_rng(5)
    log = log_of(rng, np.zeros(0), 40)
    trips = thinned(rng, 40, 4, even)
    moves = np.sort(np.concatenate([trips + 1, trips + 25]))
    answered = Log(trips, np.zeros(len(trips), np.int64), ("a",), moves, log.passes, log.begin, log.end, log.clock)
    assert "while_moving" not in [p.name for p in judge(answered).patterns]
    assert not (lags(answered) < 30).any()


def test_a_change_is_named_with_its_day() -> None:
    log = planted("change", 2)
    detail = judge(log).patterns[0].count.detail
    found = np.datetime64(detail.removeprefix("since "), "D").astype(int)
    assert abs(found - (log.begin + 0.6 * (log.end - log.begin)) // DAY_S) <= 3


def test_a_pattern_of_one_sensor_is_laid_at_its_door() -> None:
    log = planted("rain", 1)
    assert log.weather
    at = np.searchsorted(log.weather.times, log.trips, "right") - 1
    wet = log.weather.values["rain"][at] > 0
    assert judge(replace(log, sensor=np.where(wet, 1, log.sensor))).leans[0] == "sensor 2"
    assert set(judge(log).leans) == {""}


def test_too_few_episodes_are_not_judged() -> None:
    log = planted("rain", 1)
    few = Log(log.trips[:3], log.sensor[:3], log.sensors, log.moves, log.passes, log.begin, log.end, log.clock)
    verdict = judge(few)
    assert not verdict.enough and not verdict.patterns and not verdict.tests


def test_a_log_without_trips_is_refused() -> None:
    log = log_of(np.random.default_rng(1), np.zeros(0), 5)
    with pytest.raises(TripLogError, match="no trip is left"):
        judge(log)


def test_every_test_has_a_meaning_and_a_price() -> None:
    names = {t.name for plant in ("rain", "fog") for t, _ in judge(planted(plant, 1)).tests}
    assert {*names, *PLANTS} <= set(knowledge().trip_log.patterns)
    for test, rate in judge(planted("rain", 1)).tests:
        assert test.searched >= 1 and test.p <= rate + 1e-12 and FALSE_DISCOVERY < 1
