"""Settings, variables, completion, the manual page, and visits that are renamed, deleted and brought back."""

import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.cli.parser import COMMANDS
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Conclude, Pictured
from diagnose.store.journal import Journal, read
from diagnose.store.photos import folder_of, keep, made
from diagnose.store.settings import NAMES
from tests.shipped import knowledge
from tests.store.pictured import picture

NAME = "20260102-030405"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Nothing set, no visits, a folder to work in that stays empty."""
    for variable in [v for v in os.environ if v.startswith("DIAGNOSE_")]:
        monkeypatch.delenv(variable)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path


def written(home: Path, text: str) -> Path:
    file = home / "config" / "gate-diagnose" / "settings.toml"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, "utf-8")
    return file


def visit(folder: Path) -> Path:
    """A visit with a picture."""
    with Journal.create(folder, datetime(2026, 1, 2, 3, 4, 5)) as journal:
        setup = Setup("technician", devices=("laser",))
        begin = Begin(setup, "stuck_open", "", "north gate", knowledge().digest, "abcdef01-2")
        for event in (begin, Pictured(keep(journal.path, made(picture())), "visit"), Conclude()):
            journal.append(event, datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC))
    return journal.path


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    assert main(words) == 0
    return capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    assert main(words) == 2
    return capsys.readouterr().err


# --- settings ---------------------------------------------------------------------------------------------------


def test_an_option_wins_over_a_variable_and_a_variable_over_the_file(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    written(home, f'visits = "{home}/file"\n')
    assert f"visits: {home}/file\n" in said(capsys, "paths")
    monkeypatch.setenv("DIAGNOSE_VISITS", f"{home}/variable")
    assert f"visits: {home}/variable\n" in said(capsys, "paths")
    assert f"visits: {home}/option\n" in said(capsys, "paths", "--visits", f"{home}/option")
    assert f"{home}/variable (by DIAGNOSE_VISITS)" in said(capsys, "settings")


def begun(home: Path, *words: str) -> Setup:
    """The setup of a visit that these words begin."""
    folder = home / "begun"
    environment = {**os.environ, "DIAGNOSE_VISITS": str(folder), "PYTHONPATH": os.pathsep.join(sys.path)}
    typed = ("north gate\n" if "--name" not in words else "") + "stuck_open\n" + "leave\n"
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "--plain", *words], input=typed, env=environment, capture_output=True,
        text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    (path,) = folder.glob("*.visit")
    begin = read(path).events[0]
    path.unlink()
    assert isinstance(begin, Begin)
    return begin.setup


def test_role_and_sensors_are_set_once_for_all(home: Path) -> None:
    written(home, 'role = "help_desk"\nsensors = "laser,loop"\nwithout = "ladder"\n')
    setup = begun(home, "--name", "north gate")
    assert (setup.role, setup.devices) == ("help_desk", ("laser", "loop"))
    assert setup.tools == frozenset(knowledge().tools) - {"ladder"}
    typed = begun(home, "--name", "north gate", "--electrician", "--sensors", "radar")
    assert (typed.role, typed.electrician, typed.devices) == ("technician", True, ("radar",))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('rolle = "technician"\n', "no setting is called 'rolle'; did you mean 'role'?"),
        ('zzz = "a"\n', "known: role, gear"),
        ('role = "boss"\n', "role is one of technician, electrician, help_desk, not 'boss'"),
        ("visits = 3\n", "visits needs a text in quotes"),
        ("visits = \n", "settings.toml cannot be read"),
        ('database_file = "/nowhere/at/all"\n', "cannot read /nowhere/at/all"),
    ],
)
def test_a_setting_that_cannot_be_used_is_said(
    home: Path, capsys: pytest.CaptureFixture[str], text: str, says: str
) -> None:
    written(home, text)
    assert says in refused(capsys, "paths")


def test_a_settings_file_that_is_named_must_be_there(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DIAGNOSE_SETTINGS", "/nowhere/s.toml")
    assert "there is no settings file /nowhere/s.toml" in refused(capsys, "paths")


def test_a_secret_lies_in_a_file_and_is_never_shown(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (home / "secret").write_text(f"sqlite:///{home}/kept.db\n", "utf-8")
    monkeypatch.setenv("DIAGNOSE_DATABASE_FILE", str(home / "secret"))
    assert "kept.db" not in said(capsys, "settings") + said(capsys, "settings", "--json")
    said(capsys, "history")
    assert (home / "kept.db").is_file()


def test_a_file_to_fill_in_sets_nothing_and_is_never_written_over(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, "settings", "--init")
    file = home / "config" / "gate-diagnose" / "settings.toml"
    assert all(f"# {name} = " in file.read_text("utf-8") for name in NAMES)
    assert json.loads(said(capsys, "settings", "--json"))["settings"] == {}
    assert "exists already" in refused(capsys, "settings", "--init")


def test_records_have_a_folder_of_their_own(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    visit(home / "data" / "gate-diagnose" / "visits")
    shown = said(capsys, "record", "--customer", "--json")
    assert f"{home}/data/gate-diagnose/records/{NAME}-customer.json" in shown.replace("\n", "").replace(" ", "")
    monkeypatch.setenv("DIAGNOSE_RECORDS", str(home / "elsewhere"))
    said(capsys, "record", "--customer", "--json")
    assert [p.name for p in (home / "elsewhere").iterdir()] == [f"{NAME}-customer.json"]
    assert [*Path.cwd().iterdir()] == []


# --- visits renamed, deleted, brought back ------------------------------------------------------------------------


@pytest.fixture
def kept(home: Path) -> Path:
    return visit(home / "data" / "gate-diagnose" / "visits")


def test_a_visit_is_found_by_what_it_is_called_and_its_pictures_go_with_it(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before, pictures = kept.read_bytes(), [p.name for p in folder_of(kept).iterdir()]
    shown = said(capsys, "rename", "last", "north_gate")
    assert f"Back: diagnose rename {NAME}_north_gate" in shown
    new = kept.with_name(f"{NAME}_north_gate.visit")
    assert new.read_bytes() == before and not kept.exists()
    assert pictures and [p.name for p in folder_of(new).iterdir()] == pictures
    assert said(capsys, "show", "north_gate") == said(capsys, "show", NAME)
    said(capsys, *shown.partition("Back: diagnose ")[2].split())
    assert kept.read_bytes() == before and not new.exists()


@pytest.mark.parametrize("name", ["../up", "a b", "", "x" * 61, "a.visit"])
def test_a_name_that_would_be_no_name_is_refused(kept: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    if name:
        assert "a name has letters, digits" in refused(capsys, "rename", "last", name)
    assert kept.is_file()


def test_a_visit_that_is_open_or_whose_name_is_taken_stays(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept.with_name(f"{NAME}_b.visit").write_bytes(kept.read_bytes())
    assert "there is a visit" in refused(capsys, "rename", NAME, "b")
    opened, _ = Journal.reopen(kept)
    with opened:
        assert refused(capsys, "rename", NAME, "c")
        assert refused(capsys, "delete", NAME)
    assert kept.is_file()


def test_a_deleted_visit_is_in_no_list_and_comes_back_whole(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = {p.relative_to(kept.parent): p.read_bytes() for p in kept.parent.rglob("*") if p.is_file()}
    assert "north gate" in said(capsys, "history")
    shown = said(capsys, "delete", "last")
    assert NAME not in said(capsys, "list") + said(capsys, "history")
    assert json.loads(said(capsys, "delete", "--list", "--json"))["deleted"] == [NAME]
    assert "no deleted visit is called 'x'" in refused(capsys, "delete", "--undo", "x")
    said(capsys, *shown.partition("Back: diagnose ")[2].split())
    assert {p.relative_to(kept.parent): p.read_bytes() for p in kept.parent.rglob("*") if p.is_file()} == before
    assert NAME in said(capsys, "list") and "north gate" in said(capsys, "history")


def test_the_history_knows_the_file_of_a_visit_that_was_renamed(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, "history")
    said(capsys, "rename", "last", "north_gate")
    (told,) = json.loads(said(capsys, "history", "--json"))["visits"]
    assert kept.is_file() is False and told["name"] == f"{NAME}_north_gate"


def test_of_two_copies_the_other_one_counts_when_one_is_deleted(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = kept.with_name("20270101-000000.visit")
    copy.write_bytes(kept.read_bytes())
    said(capsys, "history")
    said(capsys, "delete", copy.stem)
    assert NAME in said(capsys, "list") and "north gate" in said(capsys, "history")


def test_a_move_that_was_cut_off_after_the_pictures_is_carried_through(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = kept.with_name(f"{NAME}_b.visit")
    folder_of(kept).rename(folder_of(new))
    said(capsys, "rename", NAME, "b")
    assert new.is_file() and any(folder_of(new).iterdir())


# --- the shell ----------------------------------------------------------------------------------------------------


def completed(line: str) -> list[str]:
    """What a shell is told when Tab is pressed behind this line."""
    environment = {**os.environ, "_ARGCOMPLETE": "1", "COMP_LINE": line, "COMP_POINT": str(len(line)),
                   "_ARGCOMPLETE_SHELL": "bash", "_ARGCOMPLETE_SUPPRESS_SPACE": "1",
                   "PYTHONPATH": os.pathsep.join(sys.path)}  # fmt: skip
    command = f"{sys.executable} -m diagnose 8>&1 9>/dev/null 1>/dev/null"
    done = subprocess.run(["bash", "-c", command], env=environment, capture_output=True, timeout=120, check=True)
    return [word.strip() for word in done.stdout.decode().split("\013") if word.strip()]


def test_a_shell_completes_commands_options_and_visits(kept: Path) -> None:
    assert kept.is_file()
    assert completed("diagnose hist") == ["history"]
    assert "--export" in completed("diagnose history --")
    assert completed("diagnose show 2026") == [NAME]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "tcsh"])
def test_what_a_shell_reads_names_the_program(capsys: pytest.CaptureFixture[str], shell: str) -> None:
    assert "diagnose" in said(capsys, "completion", shell)


def test_bash_takes_it(capsys: pytest.CaptureFixture[str]) -> None:
    script = said(capsys, "completion", "bash") + "\ncomplete -p diagnose\n"
    done = subprocess.run(["bash", "--norc"], input=script, capture_output=True, text=True, check=False)
    assert "-F _python_argcomplete" in done.stdout


def test_the_manual_has_every_command_and_no_line_that_is_a_command_of_its_own(
    capsys: pytest.CaptureFixture[str],
) -> None:
    lines = said(capsys, "man").splitlines()
    assert lines[0].startswith(".TH DIAGNOSE 1")
    assert {line.removeprefix(".SS ").replace("\\-", "-") for line in lines if line.startswith(".SS ")} == {*COMMANDS}
    assert {line.split()[0] for line in lines if line.startswith((".", "'"))} == {".TH", ".SH", ".SS", ".TP", ".B"}
    assert any("\\-\\-knowledge FOLDER" in line for line in lines)
