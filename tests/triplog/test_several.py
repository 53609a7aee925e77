"""Several logs of one site in one run: one sensor's logs become one, another sensor's is evidence beside it."""

import argparse
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from diagnose.cli.parser import parser
from diagnose.cli.triplog import files_of
from diagnose.cli.triplog import run as triplog
from diagnose.errors import DiagnoseError
from diagnose.terminal.triplog_files import Understood, load
from diagnose.triplog.judge import judge
from diagnose.triplog.neighbour import Beside, beside, of_pattern
from diagnose.triplog.neighbour_says import sentences
from diagnose.triplog.records import DAY_S, Floats, Log
from tests.triplog.test_form import asked

BEGIN = 1_772_323_200.0  # 1 March 2026, 00:00 UTC
DAYS = 28
Event = tuple[float, str]


def stamp(utc: float) -> str:
    return str(np.datetime64(round(utc), "s")).replace("T", " ")


def write(path: Path, events: Sequence[Event], head: str = "time,event", ahead_s: float = 0.0) -> Path:
    rows = "".join(f"{stamp(t + ahead_s)},{word}\n" for t, word in sorted(events))
    path.write_text(f"{head}\n{rows}", "utf-8")
    return path


def parsed(folder: Path, names: Sequence[str], *words: str) -> argparse.Namespace:
    files = [str(folder / name) for name in names]
    return parser(["triplog"]).parse_args(
        ["triplog", *files, *words, "--visits", str(folder), "--plain", "--width", "80"]
    )


def loaded(folder: Path, names: Sequence[str], *words: str) -> tuple[Log, Understood]:
    return load(files_of(parsed(folder, names, "--zone", "a.csv:UTC", *words), {}), None)


def some(rng: np.random.Generator, n: int, first_h: float = 0.0, hours: float = 24.0) -> Floats:
    """Times at random between two hours of the day."""
    day = rng.integers(0, DAYS, n)
    return np.sort(BEGIN + day * DAY_S + np.round(3600 * (first_h + hours * rng.random(n))))


@pytest.fixture
def lane(tmp_path: Path) -> Path:
    """Two sensors of one lane: both see the vehicles, 40 shocks trip both within a second, nights trip the first."""
    rng = np.random.default_rng(5)
    opens = some(rng, 400, 6, 14)
    opens = opens[np.concatenate([[True], np.diff(opens) > 300])]
    came = opens + 8 + np.round(6 * rng.random(len(opens)))
    shocks, night = some(rng, 40), some(rng, 150, 1, 2)
    first = [(t, "card_open") for t in opens] + [(t, "trip") for t in [*came, *shocks, *night]]
    second = [(t, "beam") for t in [*(came + 3), *(shocks + 1), *some(rng, 40)]]
    write(tmp_path / "a.csv", first)
    write(tmp_path / "b.csv", second, "Zeit,Meldung", 3600.0)
    return tmp_path


TOLD = ("--log-is", "b.csv=lane", "--zone", "b.csv:+01:00", "--word", "beam=trip", "--event-column", "b.csv:Meldung")


def found_in(folder: Path, *words: str) -> tuple[Log, Beside]:
    log, told = loaded(folder, ["a.csv", "b.csv"], *(words or TOLD))
    return log, beside(log, told.neighbours[0])


def test_what_trips_both_at_once_and_what_one_has_alone(lane: Path) -> None:
    _, found = found_in(lane)
    assert found.vehicles.share > 0.95 and found.no_vehicle
    assert found.at_once is not None and found.at_once.p < 1e-6 and found.at_once.ratio > 20
    assert 35 <= found.at_once.count.inside <= 45 and found.at_once.count.share * len(found.trips) < 3
    assert 140 <= found.alone.sum() <= 160
    said = " ".join(sentences(found))
    assert "one cause for both" in said and "they were no vehicles" in said


def test_a_pattern_of_one_sensor_is_told_as_its_own(lane: Path) -> None:
    log, found = found_in(lane)
    verdict = judge(log)
    assert verdict.patterns[0].name == "time_of_day"
    n, both = of_pattern(log, verdict.patterns[0], found)
    assert n > 140 and both < 0.1 * n


@pytest.mark.parametrize("ahead", [0, 200, -310])
def test_a_clock_that_runs_ahead_is_said_and_taken_back(lane: Path, ahead: int) -> None:
    path = lane / "b.csv"
    rows = [line.split(",") for line in path.read_text("utf-8").splitlines()[1:]]
    later = [(float(np.datetime64(t).astype("datetime64[s]").astype(int)) + ahead, word) for t, word in rows]
    write(path, later, "Zeit,Meldung")
    _, found = found_in(lane)
    assert found.ahead_s == pytest.approx(ahead, abs=6) and bool(found.ahead_s) == bool(ahead)
    assert found.no_vehicle and 35 <= found.together.sum() <= 45
    assert ("Set both clocks" in " ".join(sentences(found))) == bool(ahead)


def test_half_hours_of_the_others_show_what_goes_on_for_a_while(tmp_path: Path) -> None:
    rng = np.random.default_rng(13)
    for name in ("a", "b"):
        rain = np.repeat(BEGIN + DAY_S * np.arange(2, 27, 4), 20) + np.round(7200 * rng.random(140))
        write(tmp_path / f"{name}.csv", [(t, "trip") for t in [*rain, *some(rng, 40)]])
    _, found = found_in(tmp_path, "--log-is", "b.csv=site", "--zone", "b.csv:UTC")
    assert found.lasting and found.lasting.p < 0.01 and "both trip in the same hours" in " ".join(sentences(found))
    assert found.at_once and found.at_once.p > 0.01


def test_sensors_that_have_nothing_to_do_with_each_other(tmp_path: Path) -> None:
    rng = np.random.default_rng(6)
    for name in ("a", "b"):
        write(tmp_path / f"{name}.csv", [(t, "trip") for t in some(rng, 200)])
    _, found = found_in(tmp_path, "--log-is", "b.csv=site", "--zone", "b.csv:UTC")
    assert found.at_once and found.at_once.p > 0.01 and found.lasting and found.lasting.p > 0.01
    assert not found.no_vehicle
    assert "one cause for both" not in " ".join(sentences(found))


def test_only_the_time_in_which_both_watched_counts(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    write(tmp_path / "a.csv", [(t, "trip") for t in some(rng, 400)])
    half = [(t, "trip") for t in some(rng, 400) if t < BEGIN + 14 * DAY_S]
    write(tmp_path / "b.csv", half)
    _, found = found_in(tmp_path, "--log-is", "b.csv=lane", "--zone", "b.csv:UTC")
    assert 0.4 < len(found.trips) / found.all_trips < 0.6
    assert found.trips.max() < BEGIN + 14 * DAY_S
    assert found.hours == pytest.approx(14 * 24, abs=12)


def test_openings_that_one_log_alone_tells_hold_for_both(lane: Path) -> None:
    """The second log has no card reader, and its vehicles are set aside all the same."""
    _, told = loaded(lane, ["a.csv", "b.csv"], *TOLD)
    aside = [a for a in told.neighbours[0].log.aside if a.kind == "vehicles"]
    assert sum(a.count for a in aside) > 200
    _, elsewhere = loaded(lane, ["a.csv", "b.csv"], "--log-is", "b.csv=site", *TOLD[2:])
    assert not [a for a in elsewhere.neighbours[0].log.aside if a.kind == "vehicles"]


def overlapping(folder: Path) -> tuple[int, int]:
    """Two months of one sensor, the second with other words, columns and zone; a week is in both."""
    rng = np.random.default_rng(8)
    trips = some(rng, 300)
    first, second = trips[trips < BEGIN + 17 * DAY_S], trips[trips >= BEGIN + 10 * DAY_S]
    write(folder / "a.csv", [(t, "trip") for t in first])
    write(folder / "b.csv", [(t, "beam broken") for t in second], "Wann,Was", 7200.0)
    return len(trips), len(first) + len(second) - len(trips)


def test_logs_of_one_sensor_are_one_log_without_doubling(tmp_path: Path) -> None:
    trips, both = overlapping(tmp_path)
    where = ("--zone", "b.csv:+02:00", "--event-column", "b.csv:Was", "--log-is", "b.csv=same")
    log, told = loaded(tmp_path, ["a.csv", "b.csv"], *where)
    assert len(log.trips) == trips and both > 30
    assert any(f"{both} that both have" in line for line in told.lines)
    assert log.end - log.begin > 27 * DAY_S and not told.neighbours


def test_a_wrong_zone_of_the_same_log_is_noticed(tmp_path: Path) -> None:
    overlapping(tmp_path)
    where = ("--zone", "b.csv:UTC", "--event-column", "b.csv:Was", "--log-is", "b.csv=same")
    _, told = loaded(tmp_path, ["a.csv", "b.csv"], *where)
    assert any("-2 h off" in line for line in told.lines)


def test_the_same_rows_need_no_question(tmp_path: Path) -> None:
    rng = np.random.default_rng(9)
    trips = some(rng, 200)
    write(tmp_path / "a.csv", [(t, "trip") for t in trips[:150]])
    write(tmp_path / "b.csv", [(t, "trip") for t in trips[50:]])
    log, _ = loaded(tmp_path, ["a.csv", "b.csv"], "--zone", "UTC")
    assert len(log.trips) == 200


def test_rows_to_the_minute_and_to_the_second_are_the_same_rows(tmp_path: Path) -> None:
    rng = np.random.default_rng(10)
    trips = some(rng, 120)
    write(tmp_path / "a.csv", [(t, "trip") for t in trips])
    write(tmp_path / "b.csv", [(t // 60 * 60, "trip") for t in trips])
    log, _ = loaded(tmp_path, ["a.csv", "b.csv"], "--zone", "UTC")
    assert len(log.trips) == 120


def test_all_that_several_logs_leave_open_is_asked_on_one_screen(tmp_path: Path) -> None:
    rng = np.random.default_rng(11)
    for name, word in (("a", "zip"), ("b", "zap")):
        write(tmp_path / f"{name}.csv", [(t, w) for t in some(rng, 60) for w in (word, "trip")][:100])
    asker, out = asked("open", "open", "UTC", "+01:00", "lane")
    _, told = load(files_of(parsed(tmp_path, ["a.csv", "b.csv"]), {}), asker)
    assert out.getvalue().count("5 things that the files do not say") == 1
    assert told.neighbours[0].lane and told.answers["b.csv:zone"] == "+01:00"


def test_without_anybody_to_ask_the_option_is_named(tmp_path: Path) -> None:
    rng = np.random.default_rng(12)
    for name in ("a", "b"):
        write(tmp_path / f"{name}.csv", [(t, "trip") for t in some(rng, 50)])
    with pytest.raises(DiagnoseError, match=r"--log-is b\.csv=same\|lane\|site"):
        loaded(tmp_path, ["a.csv", "b.csv"], "--zone", "UTC")
    with pytest.raises(DiagnoseError, match="--log-is needs"):
        loaded(tmp_path, ["a.csv", "b.csv"], "--log-is", "c.csv=lane")


def test_terminal_and_page_say_what_stands_beside(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = lane / "page.html"
    where = ("--zone", "a.csv:UTC", *TOLD, "--html", str(page))
    assert triplog(parsed(lane, ["a.csv", "b.csv"], *where)) == 0
    shown = " ".join(capsys.readouterr().out.split())
    for text in ("Beside b.csv, another sensor on the same lane", "they were no vehicles", "so look at it"):
        assert text in shown
    assert "they were no vehicles" in page.read_text("utf-8") and "so look at it" in page.read_text("utf-8")
