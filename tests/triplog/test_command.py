"""`diagnose triplog` from the files to the visit, the terminal and the page."""

import argparse
import re
import subprocess
import sys
from datetime import datetime
from html import unescape
from pathlib import Path
from xml.etree import ElementTree

import pytest

from diagnose.cli.parser import parser
from diagnose.cli.triplog import BY, files_of
from diagnose.cli.triplog import run as triplog
from diagnose.errors import DiagnoseError, SessionError
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Close, Event, Reply
from diagnose.session.session import replay
from diagnose.store.journal import Journal, read
from diagnose.store.scripts import load_script
from diagnose.terminal.ask import Asker
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog_files import load
from diagnose.triplog.judge import judge
from diagnose.triplog.meaning import answers, causes_of
from diagnose.words import say
from tests.shipped import knowledge
from tests.terminal.typed import Typed

DEMO = shipped_folder("transcripts_demo")
LOG, WEATHER = DEMO / "sun_trip_log.csv", DEMO / "sun_trip_log_weather.csv"
WHOLE = ("--zone=-01:00", "--weather", str(WEATHER), "--site", "demo_site", "--device", "demo_device")


def parsed(*words: str, visits: str = "") -> argparse.Namespace:
    return parser().parse_args(["triplog", *words, "--visits", visits, "--plain", "--width", "80"])


def visit_in(folder: Path, *events: Event) -> Path:
    with Journal.create(folder, datetime(2026, 4, 13)) as journal:
        journal.append(Begin(Setup(devices=("laser",)), "ghost_opening", digest=knowledge().digest))
        for event in events:
            journal.append(event)
    return next(folder.glob("*.visit"))


def test_the_demo_log_follows_the_sun(capsys: pytest.CaptureFixture[str]) -> None:
    assert triplog(parsed(str(LOG), *WHOLE)) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "1. More trips with the sun near the look direction" in shown
    assert "line 779: clock not set" in shown
    assert "The trips follow the traffic (vehicle passes)" in shown


def test_the_demo_visit_says_what_the_demo_log_says() -> None:
    log, _ = load(files_of(parsed(str(LOG), *WHOLE), {}), None)
    first = load_script(DEMO / "sun_trip_log.yaml").first
    added = answers(judge(log), knowledge(), {})
    assert added and {a.check: a.value for a in added}.items() <= first.items()
    assert all(a.sure for a in added)


def test_what_a_file_leaves_open_is_said_with_the_option_that_tells_it() -> None:
    with pytest.raises(DiagnoseError, match="--zone"):
        triplog(parsed(str(LOG)))


def test_a_change_to_summer_time_within_the_log_is_told(tmp_path: Path) -> None:
    """In CET 2026 on 29 March, by the tz database."""
    path = tmp_path / "log.csv"
    for last, changes in ((25, 0), (31, 1)):
        path.write_text("time,event\n" + "".join(f"2026-03-{d} 12:00,trip\n" for d in range(20, last + 1)))
        _, told = load(files_of(parsed(str(path), "--zone", "CET"), {}), None)
        assert sum(say("triplog.clock_changes", n=1) in line for line in told.lines) == changes


def test_questions_are_asked_on_a_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,text\n" + "".join(f"0{m}/03/2026 10:00,foo\n" for m in range(1, 9)))
    asker = Asker(Screen(width=80, plain=True), Typed("2", "1", "trip", "+01:00"))
    log, told = load(files_of(parsed(str(path)), {}), asker)
    assert len(log.trips) == 8 and log.clock.ahead.tolist() == [3600.0]
    assert "clock: UTC+01:00 (as told)" in told.lines
    shown = capsys.readouterr().out
    assert "In which order are the dates written?" in shown and "What does the event word 'foo' mean" in shown


def test_one_command_adds_what_the_log_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = visit_in(tmp_path)
    assert triplog(parsed(str(LOG), *WHOLE, "--into", visits=str(tmp_path))) == 0
    session = replay(knowledge(), read(path).events)
    assert [(a.check, a.value, a.sure, a.by) for a in session.answers] == [
        ("when_it_happens", "low_sun", True, BY), ("env_log_compare", "skip", True, BY)
    ]  # fmt: skip
    assert "Low sun shines straight into the sensor" in capsys.readouterr().out
    triplog(parsed(str(LOG), *WHOLE, "--into", "last", visits=str(tmp_path)))
    assert [a.value for a in replay(knowledge(), read(path).events).answers] == ["low_sun", "skip"]


def test_a_pipe_that_closes_early_loses_no_answer_for_the_visit(tmp_path: Path) -> None:
    path = visit_in(tmp_path)
    command = [sys.executable, "-m", "diagnose", "triplog", str(LOG), *WHOLE, "--into", "--plain"]
    run = subprocess.Popen([*command, "--visits", str(tmp_path)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert run.stdout
    run.stdout.close()
    run.wait(120)
    session = replay(knowledge(), read(path).events)
    assert [a.value for a in session.answers] == ["low_sun", "skip"]


def test_a_visit_that_takes_nothing_in_does_not_hide_the_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visit_in(tmp_path, Close("dispatched", "night"))
    with pytest.raises(SessionError, match="closed"):
        triplog(parsed(str(LOG), *WHOLE, "--into", visits=str(tmp_path)))
    assert "More trips with the sun near the look direction" in " ".join(capsys.readouterr().out.split())


def test_what_a_person_said_is_kept(tmp_path: Path) -> None:
    path = visit_in(tmp_path, Reply("when_it_happens", "fixed_times"))
    triplog(parsed(str(LOG), *WHOLE, "--into", visits=str(tmp_path)))
    session = replay(knowledge(), read(path).events)
    assert [(a.check, a.value) for a in session.answers] == [
        ("when_it_happens", "fixed_times"), ("env_log_compare", "sun_clock")
    ]  # fmt: skip


def test_a_closed_visit_takes_nothing_in(tmp_path: Path) -> None:
    path = visit_in(tmp_path, Close("dispatched", "night"))
    before = path.read_bytes()
    with pytest.raises(SessionError, match="closed"):
        triplog(parsed(str(LOG), *WHOLE, "--into", visits=str(tmp_path)))
    assert path.read_bytes() == before


def test_the_page_stands_alone_and_escapes_what_the_file_says(tmp_path: Path) -> None:
    log, page = tmp_path / "log.csv", tmp_path / "page.html"
    evil = "<script>alert(1)</script>"
    rows = "".join(
        f"2026-03-{d:02d} {h:02d}:17:00,trip,{evil if h % 3 else 'b'}\n" for d in range(1, 29) for h in (9, 10, 13)
    )
    log.write_text(f"time,event,sensor\n{rows}{evil},trip,b\n")
    where = ("--zone", "UTC", "--position", "50,10", "--look", "250", "--html", str(page))
    assert triplog(parsed(str(log), *where)) == 0
    text = page.read_text("utf-8")
    assert "<script" not in text and "&lt;script&gt;" in text
    assert not re.search(r"(?:src|href)\s*=|url\(|@import|https?://(?!www\.w3\.org)", text)
    drawings = re.findall(r"<svg.*?</svg>", text, re.S)
    assert len(drawings) == 2 * 3  # date and hour, hours, sun, for desk and phone; no movement was logged
    for drawing in drawings:
        ElementTree.fromstring(drawing)


@pytest.mark.parametrize(
    ("words", "says"),
    [(("--look", "250"), "position"), (("--position", "50"), "2 numbers"), (("--position", "95,1"), "latitude"),
     (("--look", "left", "--position", "1,1"), "numbers"), (("--word", "foo"), "NAME=VALUE"),
     (("--word", "foo=bar"), "trip, move"), (("--gap", "0"), "--gap"), (("--gap", "nan"), "--gap")],
)  # fmt: skip
def test_unusable_options_are_refused(words: tuple[str, ...], says: str) -> None:
    with pytest.raises(DiagnoseError, match=says):
        triplog(parsed(str(LOG), "--zone=-01:00", *words))


def test_the_page_has_the_causes_and_their_tests(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert triplog(parsed(str(LOG), *WHOLE, "--html", str(page))) == 0
    cause = causes_of(judge(load(files_of(parsed(str(LOG), *WHOLE), {}), None)[0]).patterns[0], knowledge())[0]
    shown = unescape(page.read_text("utf-8"))
    assert cause.says in shown and cause.test in shown


def test_a_page_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(DiagnoseError, match="--html"):
        triplog(parsed(str(LOG), "--zone=-01:00", "--html", str(tmp_path / "none" / "page.html")))
