"""The command line as a shell sees it: exit codes, streams, no traceback, the documented JSON."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose import cli
from diagnose.cli.parser import parser
from diagnose.kb.files import shipped_folder
from tests.shipped import knowledge

ROOT = Path(__file__).parents[2]
SCRIPT = shipped_folder("transcripts_demo") / "ghost_in_rain.yaml"
Run = Callable[..., subprocess.CompletedProcess[str]]
OPENING = "1\n" * len(knowledge().settings.opening)
VISIT = ["--technician", "--sensors", "laser", "--name", "north gate"]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """The program in a process of its own, without a terminal, its data in a folder of the test's own."""
    environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "ACCESSIBLE", "COLUMNS")}
    environment |= {"XDG_DATA_HOME": str(tmp_path), "TERM": "xterm-256color", "OPENBLAS_NUM_THREADS": "1"}

    def call(*arguments: str, typed: str | bytes = "", **more: str) -> subprocess.CompletedProcess[str]:
        given = typed if isinstance(typed, bytes) else typed.encode()
        command = [sys.executable, "-m", "diagnose", *arguments]
        done = subprocess.run(
            command, input=given, capture_output=True, env=environment | more, cwd=tmp_path, timeout=60, check=False
        )
        out, err = done.stdout.decode(), done.stderr.decode()
        assert "Traceback" not in out + err, err
        return subprocess.CompletedProcess(command, done.returncode, out, err)

    return call


def flat(text: str) -> str:
    return " ".join(text.split())


def test_without_a_terminal_lines_are_read_echoed_and_saved(run: Run) -> None:
    done = run(*VISIT, typed="ghost_opening\n" + OPENING)
    assert (done.returncode, done.stderr) == (0, "")
    assert "> ghost_opening\n" in done.stdout
    assert "Saved." in done.stdout
    assert "\x1b" not in done.stdout
    listed = run("list")
    assert "north gate, Opens with nothing there" in flat(listed.stdout)
    assert f"{len(knowledge().settings.opening)} answers, open" in flat(listed.stdout)


def test_a_visit_goes_on_and_is_shown_where_it_was_left(run: Run) -> None:
    run(*VISIT, typed="ghost_opening\n1\n")
    resumed = run("resume", "--plain", typed="safe\nanswers\nconclude\n\n")
    assert resumed.returncode == 0
    assert "1. Has any of this happened" in resumed.stdout
    assert "a smell of burning? - nobody" in flat(resumed.stdout)
    assert "Conclusion" in resumed.stdout
    shown = run("show")
    assert "2. Is the gate safe" in shown.stdout
    assert "You asked to conclude." in shown.stdout
    assert "concluded" in run("list").stdout


def documented_keys() -> set[str]:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    section = re.search(r"One object: `(.+?)`", text, re.DOTALL)
    assert section
    bare = re.sub(r"\[[^\]]*\]|\{[^}]*\}|\([^)]*\)", "", section[1])
    return {word.strip() for word in bare.split(",")}


def test_the_json_has_exactly_the_documented_shape(run: Run) -> None:
    run(*VISIT, typed="ghost_opening\n" + OPENING)
    shown, replayed = run("show", "--json"), run("replay", "--json", str(SCRIPT))
    for done in (shown, replayed):
        assert (done.returncode, done.stderr) == (0, "")
        found = json.loads(done.stdout)
        assert set(found) == documented_keys()
        assert found["schema"] == 1
        assert found["knowledge"] == knowledge().digest
        assert sum(s["probability"] for s in found["sets"]) <= 1 + 1e-9
        assert max(found["posterior"].values()) < 1
        assert set(found["next"]) == {"check", "why", "minutes", "saves", "bits"}
        assert [set(a) for a in found["answers"]] == [{"check", "value", "sure", "by"}] * len(found["answers"])
        assert {frozenset(o) for o in found["observations"]} <= {frozenset({"finding", "state", "settled_by"})}
        assert {frozenset(s) for s in found["sets"]} == {frozenset({"causes", "probability"})}
    assert json.loads(replayed.stdout)["concluded"] is True


def test_a_visit_file_replays_to_what_show_says(run: Run, tmp_path: Path) -> None:
    begun = run(*VISIT, typed="ghost_opening\n" + OPENING)
    (path,) = tmp_path.rglob("*.visit")
    assert f"Visit: {path.stem}\n" in begun.stdout
    assert json.loads(run("replay", "--json", str(path)).stdout) == json.loads(run("show", "--json").stdout)


@pytest.mark.parametrize("variables", [{"TERM": "dumb"}, {"NO_COLOR": "1"}, {"ACCESSIBLE": "1"}, {"LC_ALL": "C"}])
def test_plain_surroundings_work_the_same(run: Run, variables: dict[str, str]) -> None:
    done = run(*VISIT, typed="1\n1\nhelp\nlikely\nleave\n", **variables)
    assert done.returncode == 0
    assert "\x1b" not in done.stdout
    assert "How to do this check" in done.stdout


def test_bytes_that_are_no_text_are_only_another_wrong_answer(run: Run) -> None:
    done = run(*VISIT, typed=b"1\n\xff\xfe\x00\x1b[31m\n1\n", PYTHONIOENCODING="utf-8:strict")
    assert done.returncode == 0
    assert "Not understood" in done.stdout
    assert "\x1b" not in done.stdout


def test_a_closed_input_is_an_ended_input(run: Run, tmp_path: Path) -> None:
    command = f"{sys.executable} -m diagnose --visits {tmp_path}/v --technician <&-"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert "Traceback" not in done.stderr
    assert done.returncode == 2
    del run


def test_input_that_ends_before_the_visit_begins_leaves_nothing_behind(run: Run, tmp_path: Path) -> None:
    done = run(typed="1\n")
    assert done.returncode == 2
    assert "left before the visit began; nothing was saved" in done.stderr
    assert list(tmp_path.rglob("*.visit")) == []


@pytest.mark.parametrize("word", ["leave", "q"])
def test_the_opening_understands_help_back_and_leave(run: Run, word: str) -> None:
    done = run(typed=f"help\n9\n1\nback\nback\n3\nlaser 9\nlaser photo\nback\n2,3\nzzqq\nit wont shut\n\n{word}\n")
    text = flat(done.stdout)
    assert done.returncode == 2
    assert "Who is asking decides which checks are proposed." in text
    assert "Please type a number from 1 to 3." in text
    assert "Please type numbers from 1 to 5, or just Enter." in text
    assert "= scanning laser sensor, photo-eye" in text
    assert "Nothing sounds like that." in text
    assert "Which of these fits best? 1 Gate stands open and will not close" in text


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--knowledge", "nowhere"], "there is no knowledge folder nowhere"),
        (["check-knowledge", "nowhere"], "there is no knowledge folder nowhere"),
        (["list", "--knowledge", "nowhere", "show"], "unrecognized arguments"),
        (["--device", "nowhere"], "cannot read the profile 'nowhere'"),
        (["--device", "bad.yaml"], "bad.yaml:2:1: unknown section 'fact'"),
        (["--sensors", "sonar"], f"unknown sensor kind 'sonar'; known: {', '.join(sorted(knowledge().devices))}"),
        (["--help-desk", "--electrician"], "not allowed with"),
        (["--visits", "bad.yaml/visits"], "cannot keep visits in bad.yaml/visits"),
        (["show"], "no visits yet"),
        (["resume", "1999"], "no visits yet"),
        (["replay", "nowhere.yaml"], "cannot read nowhere.yaml"),
        (["replay", "bad.yaml"], "bad.yaml:1:1"),
        (["replay", "."], "cannot read ."),
        (["replay", "bad.visit"], "bad.visit: nothing in it can be read"),
        (["simulate", "--cases", "0"], "--cases must be at least 1"),
        (["explode"], "invalid choice"),
        (["--width", "wide"], "invalid int value"),
    ],
)
def test_wrong_use_is_told_in_one_go_with_exit_code_2(
    arguments: list[str],
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "bad.yaml").write_text("profile: {id: x, says: a, kind: site}\nfact: {}\n", "utf-8")
    (tmp_path / "bad.visit").write_text("rubbish\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    try:
        code = cli.main(arguments)
    except SystemExit as stopped:  # argparse
        code = int(stopped.code or 0)
    said = capsys.readouterr()
    assert code == 2
    assert says in flat(said.err)
    assert list(tmp_path.rglob("2*.visit")) == []


def test_a_faulty_knowledge_folder_is_told_with_every_problem(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "knowledge"
    folder.mkdir()
    (folder / "a.yaml").write_text("causes:\n  x: {says: y}\nnonsense: {}\n", "utf-8")
    checked, started = run("check-knowledge", str(folder)), run("--knowledge", str(folder))
    assert (checked.returncode, started.returncode) == (1, 2)
    for text in (checked.stdout, started.stderr):
        assert "a.yaml:3:1: unknown section 'nonsense'" in text
    (folder / "a.yaml").write_bytes(b"\xff")
    assert run("check-knowledge", str(folder)).returncode == 2


def test_the_shipped_knowledge_passes_its_check_and_other_small_commands_work(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    for arguments, says in (
        (["check-knowledge"], "0 problems; "),
        (["functions"], "supply_at_device"),
        (["paths"], str(tmp_path)),
        (["list"], "No visits yet in"),
    ):
        assert cli.main(arguments) == 0
        assert says in flat(capsys.readouterr().out)


def test_a_damaged_visit_is_told_and_goes_on(run: Run, tmp_path: Path) -> None:
    run(*VISIT, typed="ghost_opening\n" + OPENING)
    (path,) = tmp_path.rglob("*.visit")
    path.write_bytes(path.read_bytes()[:-9])
    answers = len(knowledge().settings.opening) - 1
    assert f"{answers} answers, open - {path.name}: line" in flat(run("list").stdout)
    assert "is damaged (the last one is half written)" in run("show", "--json").stderr
    resumed = flat(run("resume", typed="leave\n").stdout)
    assert f"The file as it was is kept beside it as {path.stem}.damaged-" in resumed
    assert run("show").stderr == ""
    assert len(list(tmp_path.rglob("*.damaged-*"))) == 1


def test_a_script_is_refreshed_verified_and_differences_are_exit_code_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script = tmp_path / "visit.yaml"
    script.write_bytes(SCRIPT.read_bytes())
    assert cli.main(["replay", "--verify", str(script)]) == 1
    assert cli.main(["replay", "--refresh", str(script)]) == 0
    assert cli.main(["replay", "--verify", str(script)]) == 0
    transcript = script.with_suffix(".txt")
    assert all(len(line) <= 80 for line in transcript.read_text("utf-8").splitlines())
    transcript.write_bytes(b"\xff")
    assert cli.main(["replay", "--verify", str(script)]) == 1
    transcript.unlink()
    transcript.mkdir()
    capsys.readouterr()
    assert cli.main(["replay", "--refresh", str(script)]) == 2
    assert "cannot write" in capsys.readouterr().err


def test_a_reader_that_stops_reading_is_no_error(run: Run) -> None:
    run(*VISIT, typed="ghost_opening\n" + OPENING)
    command = f"{sys.executable} -m diagnose functions | head -n 1"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        cli.main(["--help"])
    assert stopped.value.code == 0
    text = capsys.readouterr().out
    for word in ("start", "resume", "list", "show", "replay", "check-knowledge", "simulate", "functions", "paths"):
        assert re.search(rf"^ +{word} ", text, re.MULTILINE), word


@pytest.mark.parametrize("place", [["--plain", "list"], ["list", "--plain"]])
def test_common_options_stand_before_or_after_a_command(place: list[str]) -> None:
    assert parser().parse_args(place).plain is True
    assert parser().parse_args(["list"]).plain is False
