"""What is explained is set aside, said in figures, and nothing else is."""

import numpy as np
import pytest

from diagnose.triplog.assemble import Bounds
from diagnose.triplog.records import DAY_S
from tests.triplog.sites import BEGIN, Site, among, aside, log_of


@pytest.mark.parametrize("seed", range(4))
def test_vehicles_let_in_are_set_aside_by_a_learned_window_per_word(seed: int) -> None:
    site = Site(seed).let_in("card_open", 9, 7, 20).let_in("remote_open", 6, 25, 40)
    false = site.even(4)
    log = site.trips(false).log()
    assert among(np.array(site.vehicles), log) <= 0.03 * len(site.vehicles)
    assert among(false, log) >= 0.97 * len(false)
    card, remote = aside(log, "vehicles")[:2]
    assert "after card_open" in card and "7 to 2" in card and "after remote_open" in remote and "25 to 4" in remote
    assert f"{len(log.trips)} are left" in aside(log, "vehicles")[-1]
    assert len(log.opens) == len(site.vehicles)


def test_the_trips_left_and_set_aside_are_all_there_were() -> None:
    site = Site(1).let_in("card_open", 9, 7, 20)
    log = site.trips(site.even(4)).log()
    assert len(log.trips) + sum(len(a.times) for a in log.aside) == sum(w == "sensor_trip" for _, w, _ in site.rows)
    assert len(log.durations) == len(log.trips) == len(log.sensor)


def test_durations_are_used_where_they_tell_and_said_not_to_be_where_they_do_not() -> None:
    short = Site(2).let_in("card_open", 9, 7, 20)
    assert "Durations were used" in aside(short.trips(short.even(4)).log(), "vehicles")[0]
    alike = Site(2).let_in("card_open", 9, 7, 20)
    assert "Durations were not used" in aside(alike.trips(alike.even(4), 2, 6).log(), "vehicles")[0]
    bare = [line.rpartition(",")[0] for line in alike.lines()]
    assert "no durations" in aside(log_of(bare), "vehicles")[0]


def test_a_trip_that_comes_at_once_is_no_vehicle() -> None:
    """The motor starts half a second after the command, and the wiring trips: a find, not traffic."""
    site = Site(3)
    for t in site.even(12):
        site.rows.append((float(t), "open_command", ""))
        site.trips(np.array([t + 0.5]))
    log = site.log()
    assert not aside(log, "vehicles") and aside(log, "unexplained")
    assert len(log.trips) == len(site.rows) / 2


def test_an_opening_word_that_few_trips_follow_sets_nothing_aside() -> None:
    site = Site(4)
    site.rows += [(float(t), "open_command", "") for t in site.even(12)]
    false = site.even(6)
    assert among(false, site.trips(false).log()) == len(false)


def test_of_two_hills_of_trips_the_larger_is_the_vehicles() -> None:
    """The leaf trips the sensor 3 to 4 s after each second command; vehicles come 12 to 25 s after all."""
    site = Site(5).let_in("card_open", 12, 12, 25)
    leaf = np.array([t + 3 + site.rng.uniform() for t, word, _ in site.rows if word == "card_open"])[::2]
    log = site.trips(leaf).log()
    assert among(leaf, log) >= 0.97 * len(leaf)
    assert among(np.array(site.vehicles), log) <= 0.03 * len(site.vehicles)


def test_the_gates_own_openings_let_nobody_in() -> None:
    """Each second false trip opens the gate; the trip that did it stays, and so does the next one in its window."""
    site = Site(6).let_in("open_command", 9, 8, 18)
    false = site.even(3)
    site.trips(false)
    site.rows += [(float(t) + 0.3, "open_command", "") for t in false[::2]]
    shaken = false[::2] + 12
    log = site.trips(shaken).log()
    assert sum(a.count for a in log.aside if a.kind == "chain") == pytest.approx(len(false[::2]), abs=2)
    assert among(false, log) >= 0.97 * len(false) and among(shaken, log) >= 0.95 * len(shaken)
    assert len(log.opens) == pytest.approx(len(site.vehicles), abs=2)


def test_a_trailer_goes_with_its_vehicle() -> None:
    site = Site(7).let_in("card_open", 12, 8, 18)
    trailers = np.array(site.vehicles)[::8] + 4
    log = site.trips(trailers, 2, 6).log()
    assert among(trailers, log) <= 0.1 * len(trailers)
    usual = Site(7).let_in("card_open", 12, 8, 18)
    often = np.array(usual.vehicles)[::2] + 4
    assert among(often, usual.trips(often, 0.2, 0.5).log()) >= 0.9 * len(often)  # no exception, so no trailer


def test_trips_between_service_words_are_set_aside() -> None:
    site = Site(8).let_in("card_open", 9, 7, 20).walk(9, 10.2, 6, 500)
    site.rows += [(9 * DAY_S + 10 * 3600, "service_mode_on", ""), (9 * DAY_S + 10.5 * 3600, "service_mode_off", "")]
    false = site.even(4)
    says = aside(site.trips(false).log(), "test")
    assert len(says) == 1 and "worked on the gate" in says[0] and "2026-03-11 10:00" in says[0]
    assert not aside(site.log(Bounds(keep=("tests",))), "test")


@pytest.mark.parametrize("seed", range(3))
def test_a_burst_like_no_other_by_day_is_a_walk_test(seed: int) -> None:
    site = Site(seed).let_in("card_open", 9, 7, 20).walk(16, 14.5, 18, 400)
    says = aside(site.trips(site.even(2)).log(), "test")
    assert len(says) == 1 and "from 2026-03-18 14:" in says[0] and "--keep tests" in says[0]


def test_what_comes_back_is_no_walk_test() -> None:
    """A loose contact on eight days, a sprinkler every second day, one burst at night: all stay."""
    loose = Site(9, days=40)
    for day in range(2, 40, 5):
        loose.walk(day, float(loose.rng.uniform(0, 23)), 15, 300)
    assert not aside(loose.log(), "test")
    sprinkler = Site(10)
    for day in range(0, 30, 2):
        sprinkler.trips(day * DAY_S + 9 * 3600 + 42 * np.flatnonzero(sprinkler.rng.random(34) < 0.6).astype(float))
    sprinkler.trips(sprinkler.even(1))
    assert not aside(sprinkler.log(), "test")
    assert not aside(Site(11).let_in("card_open", 9, 7, 20).walk(5, 2.0, 20, 300).log(), "test")


def test_a_walk_test_is_told_from_a_sprinkler_at_another_hour() -> None:
    site = Site(12)
    for day in range(0, 30, 2):
        site.trips(day * DAY_S + 5 * 3600 + 42 * np.flatnonzero(site.rng.random(34) < 0.6).astype(float))
    before = len(site.rows)
    log = site.walk(21, 14.5, 17, 500).trips(site.even(1)).log()
    assert len(aside(log, "test")) == 1 and sum(a.count for a in log.aside if a.kind == "test") == 17
    assert among(np.array([row[0] for row in site.rows[:before]]), log) == before


def test_outages_by_supply_words() -> None:
    site = Site(13).let_in("card_open", 20, 7, 20).gone(10.4, 10.6)
    site.rows += [(10.4 * DAY_S, "mains_lost", ""), (10.6 * DAY_S, "power_up", "")]
    log = site.log()
    assert np.round((log.outages - BEGIN) / DAY_S, 3).tolist() == [[10.4, 10.6]]
    assert "4.8 h" in aside(log, "outage")[0]


def test_without_a_word_that_the_supply_went_an_outage_begins_when_a_row_was_due() -> None:
    site = Site(14).let_in("card_open", 20, 7, 20).gone(10.4, 10.6)
    site.rows.append((10.6 * DAY_S, "power_up", ""))
    (begin, end) = (site.log().outages[0] - BEGIN) / DAY_S
    assert 10.36 < begin < 10.46 and end == pytest.approx(10.6, abs=1e-4)


def test_a_silence_too_long_for_its_hours_is_an_outage_and_a_night_is_none() -> None:
    quiet = Site(15, days=42).let_in("card_open", 24, 7, 20)
    assert not len(quiet.log().outages)
    log = quiet.gone(17.3, 17.8).log()
    assert len(log.outages) == 1 and "2026-03-19" in aside(log, "silence")[0]
    assert not len(quiet.log(Bounds(keep=("outages",))).outages)


def test_rows_that_came_twice_count_once_but_not_where_times_have_no_seconds() -> None:
    site = Site(16).let_in("card_open", 9, 7, 20)
    lines = site.lines()
    log = log_of([*lines, *lines[5:15]])
    assert "10 rows say the same" in aside(log, "duplicate")[0] and len(log.opens) == len(site.vehicles)
    minutes = ["time,event"] + [f"2026-03-{d:02d} 10:{m:02d},trip" for d in range(2, 9) for m in (5, 5, 40)]
    assert len(log_of(minutes).trips) == 21


def test_what_is_not_wanted_of_a_log() -> None:
    site = Site(17)
    false = site.even(10)
    first, last = BEGIN + 5 * DAY_S, BEGIN + 20 * DAY_S
    out = np.array([[BEGIN + 8 * DAY_S, BEGIN + 9 * DAY_S]])
    log = site.trips(false).log(Bounds(first, last, out))
    days = false / DAY_S
    assert len(log.trips) == ((days >= 5) & (days < 20) & ~((days >= 8) & (days < 9))).sum()
    assert (log.begin, log.end) == (first, last) and log.outages.tolist() == out.tolist()


def test_closings_and_columns_of_numbers_are_handed_on() -> None:
    lines = ["time,event,volts,temp"]
    for n in range(30):
        lines += [f"2026-03-{n + 1:02d} 1{m}:00:0{n % 7},{w},{11 + n % 5 / 10},{n}" for m, w in enumerate(
            ("gate_opening", "gate_open", "gate_closing", "gate_closed", "trip")
        )]  # fmt: skip
    log = log_of(lines)
    assert len(log.closes) == 30 and len(log.moves) == 60
    times, volts = log.columns["volts"]
    assert (
        set(log.columns) == {"volts", "temp"} and len(times) == 150 and set(volts) == {11.0, 11.1, 11.2, 11.3, 11.4}
    )
    assert (np.diff(times) >= 0).all()
