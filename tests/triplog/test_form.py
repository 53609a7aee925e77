"""What files do not say: asked on one screen with back and help, remembered for the site, and never guessed."""

import argparse
import io
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.calc.sun import Direction
from diagnose.cli.parser import parser
from diagnose.cli.triplog import files_of
from diagnose.cli.triplog import run as triplog
from diagnose.cli.triplog_place import compass_deg, position_in
from diagnose.errors import DiagnoseError
from diagnose.store.log_words import NAME, remember, remembered
from diagnose.terminal.ask import Asker, GoBack
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog_files import load
from diagnose.triplog.records import TripLogError
from diagnose.triplog.words import kinds_of
from tests.terminal.typed import Typed


def a_log(folder: Path, words: tuple[str, ...] = ("zip", "zap", "trip")) -> Path:
    path = folder / "log.csv"
    rows = (f"2026-03-{d:02d} 1{n}:00:07,{word}\n" for d in range(1, 29) for n, word in enumerate(words))
    path.write_text("time,event\n" + "".join(rows))
    return path


def parsed(folder: Path, *words: str) -> argparse.Namespace:
    given = ["triplog", str(folder / "log.csv"), *words, "--visits", str(folder), "--plain", "--width", "80"]
    return parser(["triplog"]).parse_args(given)


def asked(*lines: str) -> tuple[Asker, io.StringIO]:
    out = io.StringIO()
    return Asker(Screen(out, width=80, plain=True), Typed(*lines)), out


def test_all_that_is_open_stands_on_one_screen_with_back_and_help(tmp_path: Path) -> None:
    a_log(tmp_path)
    asker, out = asked("5", "nonsense", "help", "back", "open", "4", "Nowhere", "UTC")
    log, told = load(files_of(parsed(tmp_path), {}), asker)
    shown = out.getvalue()
    assert shown.count("3 things that the files do not say") == 1
    assert shown.index("'zap'") < shown.index("1  a trip of the sensor")  # the list comes before the first answer
    assert shown.count("somebody opens, a vehicle follows") == 1 and "unknown time zone 'Nowhere'" in shown
    assert told.answers == {"word zip": "open", "word zap": "ignore", "zone": "UTC"}
    assert len(log.opens) == 28


def test_back_at_the_first_question_leaves_them(tmp_path: Path) -> None:
    a_log(tmp_path)
    with pytest.raises(GoBack):
        load(files_of(parsed(tmp_path), {}), asked("back")[0])


def test_without_anybody_to_ask_every_option_that_is_missing_is_named(tmp_path: Path) -> None:
    a_log(tmp_path)
    with pytest.raises(TripLogError) as error:
        load(files_of(parsed(tmp_path), {}), None)
    assert all(text in str(error.value) for text in ("--word 'zip=", "--word 'zap=", "--zone"))


def test_answers_are_kept_for_the_site_and_asked_once(
    tmp_path: Path,
) -> None:
    a_log(tmp_path)
    remember(tmp_path, "north", {"word zip": "open", "word zap": "ignore", "zone": "UTC"})
    files = files_of(parsed(tmp_path), {}, "north")
    assert len(load(files, None)[0].opens) == 28
    told = files_of(parsed(tmp_path, "--word", "zip=move"), {}, "north")
    assert len(load(told, None)[0].moves) == 28  # what is said now wins
    with pytest.raises(TripLogError):
        load(files_of(parsed(tmp_path), {}, "south"), None)


def test_the_command_keeps_what_was_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    a_log(tmp_path)
    told = ("--site", "demo_site", "--zone", "UTC")
    assert triplog(parsed(tmp_path, *told, "--word", "zip=open", "--word", "zap=ignore")) == 0
    assert "are kept for the logs of demo_site" in capsys.readouterr().out
    assert triplog(parsed(tmp_path, *told)) == 0
    assert "zip = open" in " ".join(capsys.readouterr().out.split())


def test_a_spoilt_memory_is_no_memory(tmp_path: Path) -> None:
    remember(tmp_path, "", {"word a": "open"})
    assert not (tmp_path / NAME).exists()
    (tmp_path / NAME).write_text('{"north": [1], "south"')
    assert remembered(tmp_path, "north") == {}
    remember(tmp_path, "north", {"word a": "open"})
    remember(tmp_path, "north", {"word b": "move"})
    assert remembered(tmp_path, "north") == {"word a": "open", "word b": "move"}


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        (("card_open", "sensor_trip", "power_up"), ("open", "trip", "power")),
        (("gate_opening", "gate_open", "gate_closing", "gate_closed"), ("move", "ignore", "move", "closed")),
        (("gate_closed", "trip"), (None, "trip")),
        (("exit_loop", "trip"), ("open", "trip")),
        (("exit_loop", "door"), (None, None)),
        (("service_mode_on", "self_test", "card_denied", "remote_close"), ("service", "ignore", "ignore", "move")),
        (("gateClosed", "gateClosing"), ("closed", "move")),
    ],
)
def test_words_by_themselves_and_beside_each_other(words: tuple[str, ...], kinds: tuple[str | None, ...]) -> None:
    assert tuple(kinds_of(words).values()) == kinds


def test_a_word_that_only_the_whole_file_shows_is_used(tmp_path: Path) -> None:
    path = a_log(tmp_path, ("trip", "gate opens"))
    lines = path.read_text().splitlines()
    filler = [f"2026-01-{d:02d} {h:02d}:{m:02d}:{s:02d},gate opens" for d in range(1, 21) for h in range(24)
              for m in range(60) for s in (5, 35)]  # fmt: skip
    filler.insert(7000, "2026-01-03 10:00:31,power_up")
    path.write_text("\n".join([lines[0], *filler, *lines[1:]]) + "\n")
    log, told = load(files_of(parsed(tmp_path, "--zone", "UTC"), {}), None)
    assert any("'power_up'" in line for line in told.lines) and not any(bad.counts for _, bad in told.bad)
    assert len(log.trips) == 28


@pytest.mark.parametrize(
    ("options", "trips"),
    [(("--from", "2026-03-05"), 24), (("--to", "2026-03-05"), 5), (("--from", "2026-03-05 12:30"), 23),
     (("--leave-out", "2026-03-05"), 27), (("--leave-out", "2026-03-05 11:00..2026-03-07 13:00"), 25)],
)  # fmt: skip
def test_a_part_of_a_log(options: tuple[str, ...], trips: int, tmp_path: Path) -> None:
    a_log(tmp_path)
    words = ("--word", "zip=ignore", "--word", "zap=ignore", "--zone", "+01:00")
    log, _ = load(files_of(parsed(tmp_path, *words, *options), {}), None)
    assert len(log.trips) == trips


@pytest.mark.parametrize("options", [("--from", "soon"), ("--from", "2026-03-09", "--to", "2026-03-02"),
                                     ("--leave-out", "2026-03-09..2026-03-02")])  # fmt: skip
def test_times_that_are_none_are_refused(options: tuple[str, ...], tmp_path: Path) -> None:
    with pytest.raises(DiagnoseError):
        files_of(parsed(tmp_path, *options), {})


@pytest.mark.parametrize(
    ("text", "found"),
    [("at 48.20 N, 11.30 E", (48.2, 11.3)), ("33,5° S 70,25° W", (-33.5, -70.25)), ("48°12'N 11°18'E", (48.2, 11.3)),
     ("48° 12' 0\" north, 11° 18' east", (48.2, 11.3)), ("the north gate, 2 units", None), ("", None)],
)  # fmt: skip
def test_a_position_in_words(text: str, found: tuple[float, float] | None) -> None:
    assert position_in(text) == (None if found is None else pytest.approx(found))


@pytest.mark.parametrize(("word", "degrees"), [("N", 0), ("south-west", 225), ("South West", 225), ("southwest", 225),
                                               ("ssw", 202.5), ("250", None), ("left", None)])  # fmt: skip
def test_compass_words(word: str, degrees: float | None) -> None:
    assert compass_deg(word) == degrees


def test_a_position_alone_and_a_look_in_words(tmp_path: Path) -> None:
    place = files_of(parsed(tmp_path, "--position", "48.2 N 11.3 E"), {}).place
    assert place and (place.latitude_deg, place.longitude_deg, place.looks) == (48.2, 11.3, ())
    place = files_of(parsed(tmp_path, "--position", "48.2,11.3", "--look", "south-west,-4"), {}).place
    assert place and place.looks[0].direction == Direction(-4.0, 225.0)


def test_what_was_set_aside_is_said_before_any_finding(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = a_log(tmp_path, ("trip",))
    path.write_text(path.read_text() + "2026-03-29 10:0")
    assert triplog(parsed(tmp_path, "--zone", "UTC")) == 0
    shown = capsys.readouterr().out
    assert shown.index("The last row broke off") < shown.index("episodes")


def test_a_pipe_that_closes_early_does_not_lose_the_page(tmp_path: Path) -> None:
    path, page = a_log(tmp_path, ("trip",)), tmp_path / "page.html"
    command = [
        sys.executable,
        "-m",
        "diagnose",
        "triplog",
        str(path),
        "--zone",
        "UTC",
        "--html",
        str(page),
        "--plain",
    ]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as run:
        assert run.stdout
        run.stdout.close()
        run.wait(120)
    assert page.read_bytes().startswith(b"<!doctype html>")
