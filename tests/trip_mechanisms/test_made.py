"""What the generator promises of its logs, whatever reads them."""

import csv
from datetime import UTC, datetime
from functools import cache

import numpy as np
import pytest

from tests.trip_mechanisms import KEPT, LEARN, MECHANISMS, NULLS, make
from tests.trip_mechanisms.__main__ import words
from tests.trip_mechanisms.clock import CHANGING, DAY, Clock, Floats
from tests.trip_mechanisms.families import KNOWN, NEW
from tests.trip_mechanisms.model import Made
from tests.trip_mechanisms.sky import sun

made = cache(make)
EVERYWHERE = {"growing", "long_beat", "one_sensor", "road_by_day"}  # what they change is not when, but how
CAUSES = [name for name in MECHANISMS if name not in NULLS]


def cells(log: Made) -> list[dict[str, str | None]]:
    """As the log has them, without a row that was cut; the heading says what parts the cells."""
    lines = log.files["trips.csv"].splitlines()[: -1 if log.truth.counts["cut"] else None]
    delimiter = max(",;\t", key=lines[0].count)
    return list(csv.DictReader(lines, delimiter=delimiter))


def said(log: Made, role: str) -> int:
    column = log.options.columns["event"]
    return sum(log.options.roles[str(row[column])] == role for row in cells(log))


def test_there_are_enough_and_the_seeds_are_apart() -> None:
    assert len(CAUSES) >= 24 and len(NULLS) >= 4
    assert len(LEARN) == len(KEPT) == 10 and not set(LEARN) & set(KEPT)


def test_every_answer_has_a_name_with_a_meaning() -> None:
    for m in MECHANISMS.values():
        assert m.family and {*m.family, *m.near, *m.tempting} <= KNOWN | set(NEW), m.name
        assert not set(m.tempting) & {*m.family, *m.near}, m.name


@pytest.mark.parametrize("name", MECHANISMS)
def test_every_log_has_what_a_real_one_has(name: str) -> None:
    log = made(name, 0)
    counts = log.truth.counts
    assert counts["vehicle"] > 20 and counts["genuine"] > 0.85 * counts["vehicle"]
    assert counts["outages"] and 14 <= counts["days"] <= 90
    trips = sum(counts.get(kind, 0) for kind in ("genuine", "late", "walk", "background", "planted"))
    assert trips <= said(log, "trip") <= trips + counts["doubled"]
    assert counts["vehicle"] <= said(log, "open") <= counts["vehicle"] + counts["doubled"]


@pytest.mark.parametrize("name", CAUSES)
def test_what_is_planted_lies_where_the_truth_says(name: str) -> None:
    truth = made(name, 0).truth
    times, windows = np.array(truth.planted), np.array(truth.windows)
    assert len(times) == truth.counts["planted"] >= 25
    assert len(np.unique(times // DAY)) >= 4
    inside = ((times[:, None] >= windows[:, 0] - 3) & (times[:, None] <= windows[:, 1] + 3)).any(axis=1)
    assert inside.all()
    begin, end = truth.span
    assert times.min() >= begin and times.max() < end


@pytest.mark.parametrize("name", [name for name in CAUSES if name not in EVERYWHERE])
def test_what_is_planted_stands_out_of_the_other_trips(name: str) -> None:
    truth = made(name, 0).truth
    inside = sum(b - a for a, b in truth.windows)
    others = truth.counts.get("background", 0) / (truth.span[1] - truth.span[0])
    assert inside < 0.75 * (truth.span[1] - truth.span[0])
    assert truth.counts["planted"] / inside > 2.5 * others


@pytest.mark.parametrize("name", NULLS)
def test_nothing_is_planted_in_a_null(name: str) -> None:
    truth = made(name, 0).truth
    assert truth.planted == () == truth.windows and "planted" not in truth.counts


def test_nothing_is_written_during_an_outage() -> None:
    truth = made("power_return", 0).truth
    assert truth.outages and not any(a <= t < b for t in truth.planted for a, b in truth.outages)


@pytest.mark.parametrize("name", ["rain_tail", "chain", "supply_low", "null_opens"])
def test_the_same_seed_gives_the_same_log(name: str) -> None:
    assert make(name, 3) == made(name, 3)
    assert make(name, 4).files != made(name, 3).files


def test_the_program_is_told_every_word_and_file() -> None:
    log = made("neighbour", 0)
    told = words(log.options)
    assert {f"--word={w}={r}" for w, r in log.options.words.items()} <= set(told)
    assert "--moves=neighbour.csv" in told and "neighbour.csv" in log.files
    assert set(log.options.words.values()) <= {"trip", "open", "move", "ignore"}


def test_columns_are_those_of_the_heading() -> None:
    for name in MECHANISMS:
        log = made(name, 0)
        assert set(log.options.columns.values()) <= set(cells(log)[0]), name


@pytest.mark.parametrize("zone", CHANGING)
def test_the_wall_and_back(zone: str) -> None:
    begin = 1_740_000_000.0
    clock = Clock(zone, begin, begin + 300 * DAY)
    t = begin + np.arange(0, 300 * DAY, 1800.0)
    assert len(clock.changes) == 2
    far = np.abs(clock.utc(clock.wall(t)) - t)
    assert far.max() <= 3600 and (far > 0).sum() <= 2  # only in the hour that comes twice


def test_a_timer_keeps_the_wall_and_a_winter_timer_jumps() -> None:
    for name, jump in (("timer", 0), ("timer_winter", 3600)):
        log = made(name, 0)
        clock = Clock(log.options.zone, *log.truth.span)
        begins = clock.wall(np.array([a for a, _ in log.truth.windows])) % DAY
        assert np.ptp(begins).round() == jump


def day_of(year: int, month: int, day: int) -> Floats:
    return datetime(year, month, day, tzinfo=UTC).timestamp() + np.arange(0, DAY, 60)


def test_the_sun_stands_where_the_almanac_has_it() -> None:
    """Overhead at the equator at an equinox, and midsummer at 50 degrees: from geometry, not from a table."""
    height, _ = sun(day_of(2024, 3, 20), 0.0, 0.0)
    assert height.max() == pytest.approx(90, abs=0.3) and height.argmax() == pytest.approx(12 * 60 + 7.5, abs=1)
    height, direction = sun(day_of(2024, 6, 20), 50.0, 0.0)
    assert height.max() == pytest.approx(40 + 23.44, abs=0.05)
    assert direction[height.argmax()] == pytest.approx(180, abs=0.5)


@pytest.mark.parametrize("name", ["sun_known", "sun_unknown", "sun_mirrored"])
def test_the_look_is_told_only_where_it_may_be(name: str) -> None:
    log = made(name, 0)
    centre, look = float(log.truth.figures["azimuth"]), log.options.look
    assert log.options.position is not None
    away = None if look is None else abs((look - centre + 180) % 360 - 180)
    assert {"sun_known": away is not None and away <= 6, "sun_unknown": away is None,
            "sun_mirrored": away is not None and away >= 59}[name]  # fmt: skip
