"""Lists for people and programs: one thing on a line in a pipe, JSON, tables that no spreadsheet runs, slips."""

import csv
import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Close, Conclude, Repaired
from diagnose.store.journal import Journal
from tests.shipped import knowledge

NUMBER = "0f0e0d0c-1111-4222-8333-444455556666"
LONG = "the third gate on the long road behind the invented yard, beside the house with the two lamps"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One visit for which somebody was sent, at a site with a long name."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    setup, digest = Setup("help_desk", devices=("laser",)), knowledge().digest
    begin = Begin(setup, "stuck_open", "=cmd|calc", LONG, digest, NUMBER)
    with Journal.create(tmp_path / "data" / "gate-diagnose" / "visits", datetime(2026, 1, 2, 3, 4, 5)) as journal:
        for event in (begin, Conclude(), Close("dispatched", "needs a meter")):
            journal.append(event, datetime(2026, 1, 2, 12, tzinfo=UTC))
    return journal.path


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    assert main(words) == 0
    return capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    with pytest.raises(SystemExit) as stopped:
        main(words)
    assert stopped.value.code == 2
    return capsys.readouterr().err


@pytest.mark.parametrize("command", ["list", "history"])
def test_in_a_pipe_a_thing_is_a_line(capsys: pytest.CaptureFixture[str], command: str) -> None:
    first = said(capsys, command).splitlines()[0]
    assert LONG in first and first.endswith(("concluded", "finished"))
    assert LONG not in said(capsys, command, "--width", "80")


@pytest.mark.parametrize("command", ["list", "history"])
def test_a_list_is_json_too(capsys: pytest.CaptureFixture[str], command: str) -> None:
    found = json.loads(said(capsys, command, "--json"))
    assert found["schema"] == 1
    (visit,) = found["visits"]
    assert (visit["name"], visit["site"]) == ("20260102-030405", LONG)


def test_the_history_finds_the_words_it_shows(capsys: pytest.CaptureFixture[str]) -> None:
    says = knowledge().complaints["stuck_open"].says
    assert LONG in said(capsys, "history", says)
    assert LONG in said(capsys, "history", *says.upper().split()[:2], "laser")
    assert LONG not in said(capsys, "history", "0e0d")
    assert LONG in said(capsys, "history", NUMBER[:8])


def test_a_proved_cause_is_found_by_its_words(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    cause = knowledge().causes["window_wet_drops"].says
    assert "No such visit" in said(capsys, "history", cause)
    with Journal.create(folder.parent, datetime(2026, 1, 3)) as journal:
        journal.append(Begin(Setup("technician", devices=("laser",)), "stuck_open", "", "", knowledge().digest))
        journal.append(Repaired("window_wet_drops"))
    assert "20260103-000000" in said(capsys, "history", cause)


def test_a_call_for_which_somebody_was_sent_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    shown = said(capsys, "history")
    assert "somebody was sent" in shown
    assert "not in service" not in shown


def test_what_the_history_names_opens(capsys: pytest.CaptureFixture[str]) -> None:
    name = said(capsys, "history").split()[0]
    assert name == "20260102-030405"
    assert said(capsys, "show", name) == said(capsys, "show", NUMBER) == said(capsys, "show", NUMBER[:8])
    assert main(["show", NUMBER[:4]]) == 2


@pytest.mark.parametrize(
    ("flag", "day", "there"),
    [
        ("--from", "2026-01-01", True),
        ("--from", "2026-01-04", False),
        ("--to", "2026-01-04", True),
        ("--to", "2025-12-31", False),
    ],
)
def test_days_bound_the_history(capsys: pytest.CaptureFixture[str], flag: str, day: str, there: bool) -> None:
    assert (LONG in said(capsys, "history", flag, day)) is there
    assert "a day is typed as" in refused(capsys, "history", flag, "2026-02-30")


def test_a_table_is_one_and_runs_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "h.csv"
    assert "as a table" in said(capsys, "history", "--export", str(file))
    with file.open(newline="", encoding="utf-8") as lines:
        (row,) = csv.DictReader(lines)
    assert row["words"] == "'=cmd|calc"
    assert (row["complaint"], row["how"]) == (knowledge().complaints["stuck_open"].says, "dispatched")
    assert main(["history", "--import", str(file)]) == 2


def test_a_slip_is_answered_with_what_was_meant(capsys: pytest.CaptureFixture[str]) -> None:
    assert "Did you mean list?" in refused(capsys, "lisst")
    wrong = refused(capsys, "list", "--jsno")
    assert wrong.startswith("usage: diagnose list") and "Did you mean --json?" in wrong
    assert "Did you mean" not in refused(capsys, "zzzzqq")


def test_who_stops_reading_gets_the_page_all_the_same(tmp_path: Path) -> None:
    log = shipped_folder("transcripts_demo") / "sun_trip_log.csv"
    page = tmp_path / "page.html"
    command = f"{sys.executable} -m diagnose triplog {log} --zone=-01:00 --html {page}"
    command += " | head -n 1; exit ${PIPESTATUS[0]}"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert page.is_file()
