"""Logs at the edge: one trip, one instant, years, no weather where there are trips, the poles; and the sun's path."""

from datetime import UTC, datetime

import numpy as np
import pytest

from diagnose.calc.sun import Direction, angle_between_deg, glare, sun_position
from diagnose.report.triplog_page import page
from diagnose.triplog.conditions import held
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import judge
from diagnose.triplog.records import DAY_S, Log, LookDirection, Place, Weather
from diagnose.triplog.sky import glaring, sun_vectors
from tests.triplog.made import AHEAD, BEGIN, PLACE, planted, weather


def scattered(seed: int) -> Log:
    """A log of any size and length, with or without each thing that may be missing."""
    rng = np.random.default_rng(seed)
    trips, span = (
        int(rng.choice([1, 2, 9, 30, 200])),
        float(rng.choice([1, 60, 3600, DAY_S, 30 * DAY_S, 400 * DAY_S])),
    )
    times = np.full(trips, BEGIN + span / 2) if rng.random() < 0.2 else np.sort(BEGIN + rng.uniform(0, span, trips))
    moves, passes = (np.sort(BEGIN + rng.uniform(0, span, int(rng.choice([0, 1, 30, 300])))) for _ in range(2))
    readings = weather(rng, min(span / DAY_S + 0.1, 40))
    if rng.random() < 0.5:
        holed = {
            k: np.where(rng.random(len(v)) < 0.5, np.nan, v) for k, v in readings.values.items() if rng.random() < 0.6
        }
        readings = Weather(readings.times + float(rng.choice([0, 1e8])), holed)
    place = Place(float(rng.choice([-90, -33, 0, 78, 90])), 10.0, PLACE.looks if rng.random() < 0.6 else ())
    with_place = rng.random() < 0.5 and span < 100 * DAY_S
    return Log(
        times, rng.integers(0, 3, trips), ("a", "b", "c"), moves, passes, BEGIN, BEGIN + span, AHEAD,
        readings if rng.random() < 0.5 else None, place if with_place else None,
    )  # fmt: skip


@pytest.mark.filterwarnings("error")
def test_any_log_is_judged_and_drawn() -> None:
    for seed in range(60):
        log = scattered(seed)
        verdict = judge(log, float(np.random.default_rng(seed).choice([1, 120, 7200])))
        assert page(log, verdict, ["a file"], []).startswith(b"<!doctype html>")
        for test, rate in verdict.tests:
            numbers = (test.ratio, test.low, test.p, test.log_bayes, rate)
            assert not np.isnan(numbers).any() and 0 <= test.p <= rate <= 1


def test_the_path_of_the_sun_between_its_knots() -> None:
    """Within 0.1° of the calculated one, a fifth of the sun's disc; refraction at the horizon bends the path most."""
    times = BEGIN + np.arange(0, 3 * DAY_S, 1234.5)
    vectors = sun_vectors(times, PLACE)
    for t, (east, north, up) in zip(times, vectors, strict=True):
        exact = sun_position(PLACE.latitude_deg, PLACE.longitude_deg, datetime.fromtimestamp(t, UTC))
        found = Direction(float(np.degrees(np.arcsin(up))), float(np.degrees(np.arctan2(east, north))))
        assert angle_between_deg(exact, found) < 0.1


def test_glare_agrees_with_the_calculator() -> None:
    """The steps of a log and the sun calculator say the same about the same moments."""
    look = LookDirection("a", Direction(-4.0, 235.0))
    place = Place(50.0, 10.0, (look,))
    times = BEGIN + np.arange(0, 5 * DAY_S, 900.0)
    masks = glaring(times, place, (10.0,))
    straight, image = masks["low_sun"][0][1], masks["mirrored_sun"][0][1]
    for t, near, mirrored in zip(times, straight, image, strict=True):
        found = glare(look.direction, sun_position(50.0, 10.0, datetime.fromtimestamp(t, UTC)))
        if min(abs(found.direct_deg - 10), abs(found.mirror_deg - 10)) > 0.1:
            assert near == (found.sun_is_up and found.direct_deg < 10)
            assert mirrored == (found.sun_is_up and found.mirror_deg < 10 <= found.direct_deg)
    assert straight.any() and image.any()


def test_a_reading_holds_until_the_next_but_not_for_ever() -> None:
    log = planted("rain", 1)
    times = BEGIN + np.array([0.0, 3600, 7200, 10 * DAY_S])
    grid = make_grid(log)
    rain = held(grid, Weather(times, {"rain": np.array([0.0, 2.0, 1.0, 3.0])}), "rain")
    after = grid.middle - BEGIN
    assert (rain[(after > 3600) & (after < 7200)] == 2.0).all()
    assert np.isnan(rain[(after > DAY_S) & (after < 9 * DAY_S)]).all()
    assert np.isnan(held(grid, Weather(times, {}), "rain")).all()
