"""What the fuzzers found, each as the smallest case that showed it."""

import errno
import os
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose import caching
from diagnose.errors import KnowledgeError, VisitError
from diagnose.kb.files import read_files
from diagnose.model.visit import Setup
from diagnose.practice import progress_file
from diagnose.session.events import Back, Begin, Event, Proved, Repaired, Reply, TakeOver
from diagnose.session.session import conclude, replay, salvage
from diagnose.store.history.rows import utc
from diagnose.store.profiles import load_profile
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.reader import LONGEST_LINE
from diagnose.terminal.screen import Screen
from diagnose.triplog.clock import fixed
from diagnose.triplog.layout import Layout, find_layout
from diagnose.triplog.records import TripLogError
from diagnose.triplog.weather_file import Column, read_weather
from tests.faults.limits import within
from tests.faults.test_mutated import a_log
from tests.shipped import knowledge, reasoner
from tests.terminal.typed import Typed

EDGE_ONLY, LASER_ONLY = "edg_profile_crushed", "window_wet_drops"


def test_a_repair_of_what_the_sensors_on_site_cannot_have_teaches_nothing() -> None:
    """It ended the program: the cause has no place in the belief."""
    events: tuple[Event, ...] = (
        Begin(Setup(devices=("edge",)), "stuck_open"), Repaired(LASER_ONLY), Proved(False),
    )  # fmt: skip
    kb = knowledge()
    assert kb.causes[LASER_ONLY].devices and "edge" not in kb.causes[LASER_ONLY].devices
    after = conclude(reasoner(), replay(kb, events)).belief.ranked()
    assert after == conclude(reasoner(), replay(kb, events[:1])).belief.ranked()
    other = TakeOver(Setup(devices=("edge",)))
    conclude(reasoner(), replay(kb, [Begin(Setup(), "stuck_open"), *events[1:], other]))


def test_an_answer_the_knowledge_no_longer_has_is_left_out_of_earlier_stages_and_of_back_too() -> None:
    """It was left out of the present stage only: a visit with a repair in it could not be opened any more."""
    events: tuple[Event, ...] = (
        Begin(Setup(), "stuck_open"), Reply("anyone_touched", "nobody"), Reply("was_a_check", "x"),
        Repaired(EDGE_ONLY), Proved(False), Reply("power_lamp", "no_such_word"), Repaired(EDGE_ONLY),
    )  # fmt: skip
    session, told = salvage(knowledge(), events)
    assert {says.split(": ")[1] for says in told} == {"power_lamp", "there is no check 'was_a_check'"}
    conclude(reasoner(), session)
    before, _ = salvage(knowledge(), [*events, Back()])
    assert before == replace(session, repairs=session.repairs[:-1], concluded=False, mark=before.mark)
    conclude(reasoner(), before)
    long_ago, _ = salvage(knowledge(), [*events, Back(), Back()])
    assert [a.check for a in long_ago.given] == ["anyone_touched"]
    conclude(reasoner(), long_ago)


def test_a_line_that_nobody_types_is_dropped_and_asked_for_again(capsys: pytest.CaptureFixture[str]) -> None:
    asker = Asker(Screen(width=80), Typed("x" * (LONGEST_LINE + 1), "y"))
    assert asker.line() == "y"
    assert "longer than 5,000 characters" in capsys.readouterr().out
    with pytest.raises(Leave):
        Asker(Screen(width=80), Typed(KeyboardInterrupt, "x" * 9999, KeyboardInterrupt)).line()


def test_an_endless_chain_of_mending_is_salvaged_without_running_out_of_stack() -> None:
    events: list[Event] = [
        Begin(Setup(), "stuck_open"),
        *[e for _ in range(1500) for e in (Repaired(EDGE_ONLY), Proved(True))],
    ]
    with within(20):
        session, left_out = salvage(knowledge(), events)
    assert (len(session.repairs), left_out) == (1500, ())


def test_a_weather_row_that_ends_before_its_date_is_one_bad_row() -> None:
    """With the day in a later column than the time, a short row ended the program."""
    lines = ["time,rain mm/h,date", "10:00,0.1,2026-03-01", "11:00,0.2", "12:00,0.3,2026-03-01"]
    layout = find_layout(lines, {}, "ignore")
    assert isinstance(layout, Layout) and layout.date > layout.time
    weather, bad = read_weather(lines, layout, {"rain": Column(1, "mm/h")}, fixed("UTC", 0.0))
    assert list(weather.values["rain"]) == [0.1, 0.3]
    assert dict(bad.counts) == {"no time that can be read": 1}


def test_a_file_of_progress_that_cannot_be_read_just_now_is_not_set_aside(tmp_path: Path) -> None:
    """A disk that did not answer, or a missing permission, made a trainee start afresh."""
    path = progress_file.file_of(tmp_path, "me")
    path.mkdir()  # reading it fails, and it is no damage
    with pytest.raises(VisitError, match="cannot read"):
        progress_file.load(tmp_path, "me")
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_is_no_text_is_named_with_the_place(tmp_path: Path) -> None:
    """It was 'cannot read the knowledge in FOLDER: codec can't decode byte', with two hundred files to search."""
    (tmp_path / "part").mkdir()
    path = tmp_path / "part" / "x.yaml"
    path.write_bytes(b"causes:\n  a: {says: caf\xe9}\n")
    with pytest.raises(KnowledgeError, match=r"^part/x\.yaml:2:16: this is no UTF-8 text"):
        read_files(tmp_path)
    with pytest.raises(VisitError, match=r"^x\.yaml:2:16: this is no UTF-8 text"):
        load_profile(str(path))


@pytest.mark.parametrize("time", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
def test_a_time_at_the_edge_of_the_calendar_is_refused_by_the_history(time: str) -> None:
    with pytest.raises(VisitError, match="is not a time"):
        utc(time)


def test_a_cache_that_cannot_be_finished_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every start on a full disk left one more half-written file."""

    def refuse(*_: object) -> Path:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "replace", refuse)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert caching.kept("x", list, lambda: [1]) == [1]
    assert list((tmp_path / "cache").rglob("*")) != []
    assert [p for p in (tmp_path / "cache").rglob("*") if p.is_file()] == []


def test_one_row_of_a_clock_that_was_not_set_does_not_stretch_the_log_over_decades(tmp_path: Path) -> None:
    """The tests then ran over millions of empty steps, for minutes."""
    rows = [f"2026-03-{day:02d} 10:05:00,trip" for day in range(1, 29)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(["time,event", "2000-01-01 00:00:07,trip", *rows]))
    with (
        within(5),
        pytest.raises(TripLogError, match="from 2000-01-01 to 2026-03-28, more than 5 years: a wrong date"),
    ):
        a_log(path)
    path.write_text("\n".join(["time,event", "2021-05-01 00:00:07,trip", *rows]))
    with within(20):
        a_log(path)
