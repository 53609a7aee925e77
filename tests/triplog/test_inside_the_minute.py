"""Trips just after closing, exact spacings, bursts, and what the day's own spread and vehicles do to a finding."""

from dataclasses import replace

import numpy as np
import pytest

from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import judge
from diagnose.triplog.meaning import answers, story_says
from diagnose.triplog.moving import after_closing
from diagnose.triplog.near_vehicles import beside_vehicles
from diagnose.triplog.records import DAY_S, Floats, Log
from diagnose.triplog.scan import best_mask
from diagnose.triplog.spacing import bursts, spacing
from tests.shipped import knowledge
from tests.triplog.made import BEGIN, even, log_of, thinned

DAYS = 30
NONE = np.zeros(0)


def bare(seed: int, trips: Floats, closes: Floats = NONE, opens: Floats = NONE) -> Log:
    """A site with traffic and no trips but these, each alone."""
    log = log_of(np.random.default_rng(seed), np.zeros(0), DAYS)
    sensor = np.zeros(len(trips), np.int64)
    return replace(log, trips=np.sort(trips), sensor=sensor, sensors=("a",), closes=closes, opens=opens)


def shaken(seed: int, others: float = 1.0) -> Log:
    """Every third closing is followed by a trip after 1 to 2 s; others come evenly, so many a day."""
    rng = np.random.default_rng(seed)
    closes = BEGIN + (np.arange(300) + rng.uniform(0, 0.9, 300)) * DAYS * DAY_S / 300
    hit = (closes + rng.uniform(1, 2, 300))[rng.random(300) < 0.3]
    trips = np.concatenate([hit, thinned(rng, DAYS, others, even)]) if others else hit
    return bare(seed, trips, closes=closes)


def test_trips_just_after_closing_are_found_and_counted() -> None:
    log = shaken(1)
    verdict = judge(log)
    assert verdict.patterns[0].name == "after_closed"
    planted = np.sum([(log.trips > c) & (log.trips < c + 3) for c in log.closes])
    assert abs(verdict.stories[0].trips - planted) <= 0.15 * planted


def test_never_at_rest_is_said_only_where_no_trip_came_at_rest() -> None:
    when = knowledge().trip_log.when
    assert [a for a in answers(judge(shaken(1)), knowledge(), {}) if a.check == when] == []
    all_moving = [a.value for a in answers(judge(shaken(1, others=0)), knowledge(), {}) if a.check == when]
    assert all_moving == ["while_moving"]


def test_even_trips_are_not_laid_to_the_closings() -> None:
    for seed in range(20):
        rng = np.random.default_rng(seed)
        closes = np.sort(BEGIN + rng.uniform(0, DAYS * DAY_S, 600))
        test = after_closing(bare(seed, thinned(rng, DAYS, 8, even), closes=closes))
        assert test is None or test.p > 0.001


def rotor(seed: int, beat: float, seen: float) -> Log:
    rng = np.random.default_rng(seed)
    days = BEGIN + DAY_S * np.arange(0, DAYS, 3) + 5 * 3600
    passes = np.concatenate([day + rng.uniform(0, beat) + beat * np.arange(25) for day in days])
    kept = (passes + rng.normal(0, 0.5, len(passes)))[rng.random(len(passes)) < seen]
    return bare(seed, np.concatenate([kept, thinned(rng, DAYS, 1, even)]))


@pytest.mark.parametrize("beat", [17.3, 42.0, 95.0])
def test_an_exact_spacing_is_found_though_passes_are_missed(beat: float) -> None:
    test = spacing(rotor(1, beat, 0.6))
    assert test is not None and test.p < 1e-4
    assert test.count.detail.startswith(f"{beat:.1f} s")


def test_the_days_on_which_a_rotor_runs_are_told_beside_its_spacing() -> None:
    found = judge(rotor(1, 42.0, 0.6)).patterns
    assert [p.name for p in found] == ["spacing", "every_nth_day"]
    assert "every 3 days" in found[1].count.detail


def test_random_sessions_have_no_spacing() -> None:
    """As many trips in the same sessions, at random: hardly ever a spacing, whatever was searched."""
    found = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        sessions = [BEGIN + DAY_S * d + 5 * 3600 + np.sort(rng.uniform(0, 1200, 15)) for d in range(0, DAYS, 2)]
        test = spacing(bare(seed, np.concatenate(sessions)))
        found += test is not None and test.p < 0.05
    assert found <= 3


def test_whole_seconds_are_no_spacing() -> None:
    rng = np.random.default_rng(3)
    sessions = [BEGIN + DAY_S * d + np.sort(rng.integers(0, 1200, 15)).astype(float) for d in range(DAYS)]
    test = spacing(bare(3, np.concatenate(sessions)))
    assert test is None or test.p > 0.01


def test_bursts_are_told_from_a_few_trips_at_once() -> None:
    rng = np.random.default_rng(4)
    starts = thinned(rng, DAYS, 2, even)
    long = np.concatenate([t + np.cumsum(rng.exponential(8, 8)) for t in starts])
    short = np.concatenate([t + np.cumsum(rng.exponential(8, 2)) for t in starts])
    many, few = bursts(bare(4, long)), bursts(bare(4, short))
    assert many is not None and many.p < 1e-6 and many.ratio > 3
    assert few is not None and few.p == 1.0


def test_one_busy_day_is_no_pattern() -> None:
    """Forty episodes on one windy day among thirty: the days' own spread takes the strength out of it."""
    rng = np.random.default_rng(5)
    day = BEGIN + 11 * DAY_S
    trips = np.concatenate([day + 3600 * 6 + 400.0 * np.arange(40), thinned(rng, DAYS, 2, even)])
    grid = make_grid(bare(5, trips))
    number = grid.day % 4 == grid.day[np.searchsorted(grid.middle, day + 40_000)] % 4
    test = best_mask("wind", grid, [("some days", number)])
    assert test is not None and test.wide > 5 and test.p > 0.05
    spread_out = replace(grid, episodes=np.sort(rng.choice(grid.middle[number], len(grid.episodes))))
    at = np.searchsorted(spread_out.middle, spread_out.episodes)
    even_days = best_mask("wind", replace(spread_out, at=at), [("some days", number)])
    assert even_days is not None and even_days.p < 1e-9


def test_what_comes_beside_a_vehicle_is_left_out_with_its_time() -> None:
    rng = np.random.default_rng(6)
    opens = np.sort(BEGIN + rng.uniform(0, DAYS * DAY_S, 400))
    late = opens[::4] + 20.0
    log = bare(6, np.concatenate([late, thinned(rng, DAYS, 3, even)]), opens=opens)
    rest, near = beside_vehicles(log)
    assert near.trips >= 95 and not np.isin(late, rest.trips).any()
    lost = 1 - make_grid(rest, 120.0, near.spans).exposure.max() / make_grid(rest).exposure.max()
    assert lost != 0
    verdict = judge(log)
    assert not verdict.patterns and verdict.near_vehicles.trips == near.trips


def test_a_pattern_says_what_it_makes_up_and_what_else_would_explain_it() -> None:
    verdict = judge(shaken(1))
    said = story_says(verdict, verdict.patterns[0])
    assert "single trips" in said[0] and "minutes around the same movements" in said[1] and len(said) >= 3
