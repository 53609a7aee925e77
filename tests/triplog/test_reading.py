"""Reading CSV: what is found, what is asked, and that no row disappears in silence."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from diagnose.store.triplogs import clock_of, lines_of, sample
from diagnose.triplog.assemble import assemble
from diagnose.triplog.clock import fixed, newest_first, to_utc
from diagnose.triplog.columns import EVERY_ROW, FileQuestion
from diagnose.triplog.layout import Layout, find_layout
from diagnose.triplog.records import TripLogError
from diagnose.triplog.rows import Rows, placed, read_rows
from diagnose.triplog.stamps import Stamps, formats_of
from diagnose.triplog.weather_file import Column, find_columns, read_weather
from diagnose.triplog.words import kind_of_word


def laid_out(lines: Sequence[str], **said: str) -> Layout:
    found = find_layout(lines, said)
    assert isinstance(found, Layout), found
    return found


def asked(lines: Sequence[str], **said: str) -> FileQuestion:
    found = find_layout(lines, said)
    assert isinstance(found, FileQuestion), found
    return found


def read(lines: Sequence[str], **said: str) -> Rows:
    return read_rows(lines, laid_out(lines, **said))


def utc(*parts: int) -> float:
    return datetime(*parts, tzinfo=UTC).timestamp()  # type: ignore[misc,arg-type]


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_delimiter_and_columns_are_found(sign: str) -> None:
    lines = [sign.join(row) for row in (("sensor", "time", "event"), ("a", "2026-03-01 14:05:09", "trip"))]
    layout = laid_out(lines)
    assert (layout.delimiter, layout.time, layout.event, layout.sensor, layout.format) == (sign, 1, 2, 0, "ymd")


@pytest.mark.parametrize(
    ("format", "text", "seconds", "ahead"),
    [
        ("ymd", "2026-03-01 14:05", utc(2026, 3, 1, 14, 5), None),
        ("ymd", "2026-03-01T14:05:09.25Z", utc(2026, 3, 1, 14, 5, 9) + 0.25, 0.0),
        ("ymd", "2026-03-01T14:05:09+01:00", utc(2026, 3, 1, 14, 5, 9), 3600.0),
        ("ymd", "2026/03/01 14:05:09 -0330", utc(2026, 3, 1, 14, 5, 9), -12600.0),
        ("dmy", "01.03.2026 14:05:09", utc(2026, 3, 1, 14, 5, 9), None),
        ("dmy", "1/3/26 2:05 pm", utc(2026, 3, 1, 14, 5), None),
        ("mdy", "03/01/2026 12:05:00 AM", utc(2026, 3, 1, 0, 5), None),
        ("mdy", "03/01/2026 12:05:00 p.m.", utc(2026, 3, 1, 12, 5), None),
        ("dMy", "01-Mar-2026 14:05", utc(2026, 3, 1, 14, 5), None),
        ("ymd8", "20260301 14:05:09", utc(2026, 3, 1, 14, 5, 9), None),
        ("seconds", "1772373909", utc(2026, 3, 1, 14, 5, 9), 0.0),
        ("milliseconds", "1772373909500", utc(2026, 3, 1, 14, 5, 9) + 0.5, 0.0),
    ],
)
def test_times_as_people_and_devices_write_them(format: str, text: str, seconds: float, ahead: float | None) -> None:
    stamp = Stamps(format).read(text)
    assert stamp
    assert stamp[0] == pytest.approx(seconds, abs=1e-6)
    assert stamp[1] == ahead
    assert format in formats_of([text])


@pytest.mark.parametrize(
    "text", ["2026-02-30 10:00", "2026-13-01 10:00", "2026-03-01 24:00", "2026-03-01 10:61", "1970-01-01 00:00:12",
             "2026-03-01", "10:00", "", "yesterday", "2026-03-01 13:00 pm", "99999999999999"],
)  # fmt: skip
def test_what_is_no_time_is_not_read_as_one(text: str) -> None:
    assert all(Stamps(name).read(text) is None for name in ("ymd", "dmy", "mdy", "seconds", "milliseconds"))


def test_order_of_day_and_month_is_asked_only_where_it_is_open() -> None:
    open_ = ["time,event", "03/04/2026 10:00,trip", "05/04/2026 11:00,trip"]
    question = asked(open_)
    assert question.key == "dates" and set(question.options) == {"dmy", "mdy"} and "--dates" in question.option
    assert laid_out(open_, dates="mdy").format == "mdy"
    assert laid_out([*open_, "25/04/2026 11:00,trip"]).format == "dmy"


def test_day_and_time_in_two_columns() -> None:
    lines = ["Date;Time;Event", "13.03.2026;10:00:05;trip", "14.03.2026;11:00:05;trip"]
    rows = read(lines)
    assert rows.clock.tolist() == [utc(2026, 3, 13, 10, 0, 5), utc(2026, 3, 14, 11, 0, 5)]


def test_two_time_columns_are_asked_about() -> None:
    lines = ["begin,end,event", "2026-03-13 10:00,2026-03-13 10:01,trip"]
    assert asked(lines).key == "time"
    assert laid_out(lines, time="end").time == 1
    with pytest.raises(TripLogError, match="nowhere"):
        find_layout(lines, {"time": "nowhere"})


def test_without_a_header_columns_have_numbers() -> None:
    layout = laid_out(["2026-03-13 10:00,trip", "2026-03-13 11:00,trip"])
    assert not layout.header and layout.names == ("1", "2") and layout.event == 1


def test_an_event_column_that_is_not_named_is_asked_for() -> None:
    lines = ["time,text", "2026-03-13 10:00,foo", "2026-03-13 11:00,bar"]
    assert asked(lines).key == "event"
    assert laid_out(lines, event=EVERY_ROW).event == -1
    assert asked(lines, event="text").key == "word foo"
    kinds = laid_out(lines, event="text", **{"word foo": "trip", "word bar": "ignore"}).kinds
    assert kinds == {"foo": "trip", "bar": "ignore"}


@pytest.mark.parametrize(
    ("word", "kind"),
    [("trip", "trip"), ("Nuisance trip", "trip"), ("detected", "trip"), ("trip_end", "ignore"), ("ON", "trip"),
     ("0", "ignore"), ("gate opens", "move"), ("closing", "move"), ("vehicle_pass", "pass"), ("car", "pass"),
     ("vehicle detected", None), ("closed", None), ("blue", None), ("", None)],
)  # fmt: skip
def test_event_words(word: str, kind: str | None) -> None:
    assert kind_of_word(word) == kind


def test_bad_rows_are_counted_and_shown_with_their_lines() -> None:
    lines = (
        ["time,event"] + ["2026-03-13 10:00,trip"] * 8 + ["rubbish,trip", "2026-03-13", "", "2026-03-14 10:00,zap"]
    )
    rows = read_rows(lines, laid_out(lines[:9]))
    assert rows.read == 11 and len(rows.clock) == 8
    assert dict(rows.bad.counts) == {
        "no time that can be read": 1, "too few columns": 1, "an event word that no earlier row had": 1
    }  # fmt: skip
    assert rows.bad.shown["no time that can be read"] == [(10, "rubbish,trip")]


def test_a_stray_quote_harms_one_line() -> None:
    lines = ["time,event", '2026-03-13 10:00,"trip', "2026-03-13 11:00,trip", '2026-03-13 12:00,"trip"']
    assert len(read_rows(lines, laid_out(["time,event", "2026-03-13 11:00,trip"])).clock) == 3


@pytest.mark.parametrize("lines", [[], ["", " "], ["time,event"], ["a,b", "1,2"], ["\0\0\0", "\0"], ["{}", "[1,2]"]])
def test_files_that_are_no_log_are_refused(lines: list[str]) -> None:
    with pytest.raises(TripLogError):
        find_layout(lines, {})


def test_a_column_of_free_text_is_no_event_column() -> None:
    lines = ["time,event"] + [f"2026-03-13 10:{m:02d},word {chr(97 + m % 26)}{chr(97 + m // 26)}" for m in range(60)]
    with pytest.raises(TripLogError, match="different words"):
        find_layout(lines, {})


def test_summer_time_comes_and_goes() -> None:
    """CET in 2026 by the tz database: ahead 1 h, from 29 March 01:00 UTC 2 h, from 25 October 01:00 UTC 1 h."""
    clock = clock_of("CET", utc(2026, 1, 1), utc(2026, 12, 31))
    assert clock.since.tolist() == [-np.inf, utc(2026, 3, 29, 1), utc(2026, 10, 25, 1)]
    assert clock.ahead.tolist() == [3600.0, 7200.0, 3600.0]
    instants = np.array([utc(2026, 3, 29, 0, 59, 59), utc(2026, 3, 29, 1), utc(2026, 10, 25, 2)])
    assert (clock.local(instants) - instants).tolist() == [3600.0, 7200.0, 3600.0]


def test_the_hour_that_comes_twice_is_put_in_order_and_the_one_that_never_was_refused() -> None:
    clock = clock_of("CET", utc(2026, 1, 1), utc(2026, 12, 31))
    autumn = np.array([utc(2026, 10, 25, 2, 50), utc(2026, 10, 25, 2, 10), utc(2026, 10, 25, 3, 0)])
    found = to_utc(clock, autumn)
    assert found.twice.tolist() == [True, True, False]
    assert found.utc.tolist() == [utc(2026, 10, 25, 0, 50), utc(2026, 10, 25, 1, 10), utc(2026, 10, 25, 2, 0)]
    assert to_utc(clock, np.array([utc(2026, 3, 29, 2, 30)])).never.tolist() == [True]


def test_the_hour_that_comes_twice_in_a_file_with_the_newest_row_first() -> None:
    clock = clock_of("CET", utc(2026, 1, 1), utc(2026, 12, 31))
    falling = np.array(
        [utc(2026, 10, 25, 3, 0), utc(2026, 10, 25, 2, 10), utc(2026, 10, 25, 2, 50), utc(2026, 10, 25, 1)]
    )
    found = to_utc(clock, falling)
    assert newest_first(falling)
    assert found.utc.tolist() == [
        utc(2026, 10, 25, 2), utc(2026, 10, 25, 1, 10), utc(2026, 10, 25, 0, 50), utc(2026, 10, 24, 23)
    ]  # fmt: skip


def test_a_skipped_time_is_a_bad_row() -> None:
    lines = ["time,event", "2026-03-29 01:30,trip", "2026-03-29 02:30,trip", "2026-03-29 03:30,trip"]
    rows, times, twice = placed(read(lines), clock_of("CET", utc(2026, 3, 1), utc(2026, 4, 1)))
    assert times.tolist() == [utc(2026, 3, 29, 0, 30), utc(2026, 3, 29, 1, 30)] and twice == 0
    assert list(rows.bad.shown.values()) == [[(3, "2026-03-29T02:30:00")]]


def test_a_time_that_names_its_offset_needs_no_zone() -> None:
    lines = ["time,event", "2026-10-25T02:30:00+02:00,trip", "2026-10-25T02:30:00+01:00,trip"]
    _, times, twice = placed(read(lines), fixed("elsewhere", -5 * 3600))
    assert times.tolist() == [utc(2026, 10, 25, 0, 30), utc(2026, 10, 25, 1, 30)] and twice == 0


@pytest.mark.parametrize(("name", "ahead"), [("+01:00", 3600), ("UTC", 0), ("-0330", -12600), ("UTC+2", 7200)])
def test_zones_by_offset(name: str, ahead: float) -> None:
    assert clock_of(name, 0, 1).ahead.tolist() == [ahead]


@pytest.mark.parametrize("name", ["", "Nowhere/Land", "../../etc/passwd", "+1:2:3"])
def test_unknown_zones_are_refused(name: str) -> None:
    with pytest.raises(TripLogError, match="time zone"):
        clock_of(name, 0, 1)


def test_several_files_make_one_log() -> None:
    trips = read(["time,event,sensor", "2026-03-13 10:05,trip,b", "2026-03-13 10:01,trip,a"])
    moves = read_rows(["2026-03-13 09:00"], Layout(",", False, ("1",), 0, -1, "ymd", only="move"))
    log = assemble([(trips, trips.clock), (moves, moves.clock)], fixed("UTC", 0))
    assert [log.sensors[s] for s in log.sensor] == ["a", "b"]
    assert (log.begin, log.end) == (utc(2026, 3, 13, 9), utc(2026, 3, 13, 10, 5))
    with pytest.raises(TripLogError, match="no row"):
        assemble([(moves, moves.clock)], fixed("UTC", 0))


def test_weather_in_the_units_of_its_heading() -> None:
    lines = ["time;rain (mm);wind km/h;wind direction;temp °F;visibility km;humidity",
             "2026-03-13 10:00;1,5;36;270;32;2;90", "2026-03-13 10:30;-;72;1;212;0,5;"]  # fmt: skip
    layout = find_layout(lines, {}, "ignore")
    assert isinstance(layout, Layout)
    columns = find_columns(layout.names, {})
    assert not isinstance(columns, FileQuestion)
    weather, bad = read_weather(lines, layout, columns, fixed("UTC", 0))
    assert weather.values["rain"][0] == pytest.approx(3.0) and np.isnan(weather.values["rain"][1])  # 1.5 mm in 30 min
    assert weather.values["wind"].tolist() == pytest.approx([10, 20])
    assert weather.values["temperature"].tolist() == pytest.approx([0, 100])
    assert weather.values["visibility"].tolist() == [2000, 500]
    assert not bad.counts


def test_a_unit_that_is_not_named_is_asked() -> None:
    question = find_columns(["time", "wind"], {})
    assert isinstance(question, FileQuestion) and question.key == "unit wind"
    assert find_columns(["time", "wind"], {"unit wind": "kn"}) == {"wind": Column(1, "kn")}
    with pytest.raises(TripLogError, match="no weather"):
        find_columns(["time", "colour"], {})


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,event,sensor\n2026-03-13 10:00,trip,Fühler\n", encoding)
    lines = list(lines_of(path))
    assert lines[0].strip() == "time,event,sensor" == sample(path)[0]
    assert len(read_rows(lines, laid_out(sample(path))).clock) == 1


def test_a_long_file_is_sampled_all_over_in_whole_lines(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    days = np.arange("2026-01-01", "2026-12-31", dtype="datetime64[D]").astype(str)
    path.write_text(
        "time,event\n"
        + "".join(f"{d} {h:02d}:{m:02d}:00,trip\n" for d in days for h in range(24) for m in range(0, 60, 5))
    )
    found = sample(path)
    assert len(found) < 3000 and {line[:7] for line in found[1:]} >= {f"2026-{m:02d}" for m in range(2, 13, 2)}
    assert all(line.endswith(",trip") and len(line) == 24 for line in found[1:])


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(TripLogError, match="cannot read"):
        sample(tmp_path / "none.csv")
    with pytest.raises(TripLogError, match="cannot read"):
        list(lines_of(tmp_path))
