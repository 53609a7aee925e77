"""Everything in one file and back: whole, nothing written over, nothing outside its folders, no damage taken."""

import json
import shutil
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Pictured
from diagnose.store.backup import LIST
from diagnose.store.history.history import History
from diagnose.store.journal import Journal
from diagnose.store.photos import keep, made
from tests.shipped import knowledge
from tests.store.pictured import picture
from tests.store.writers import record

Contents = dict[Path, bytes]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine with a visit, a picture, a deleted visit, a record, settings and a visit in the history alone."""
    at(tmp_path / "one", monkeypatch)
    data = tmp_path / "one" / "data" / "gate-diagnose"
    for name, day in (("a", 2), ("b", 3)):
        with Journal.create(data / "visits", datetime(2026, 1, day)) as journal:
            begin = Begin(
                Setup("technician", devices=("laser",)), "stuck_open", "", f"gate {name}", knowledge().digest
            )
            for event in (begin, Pictured(keep(journal.path, made(picture())), "visit")):
                journal.append(event, datetime(2026, 1, day, tzinfo=UTC))
    with History() as history:
        history.save(record("elsewhere"))
    assert main(["delete", "20260103"]) == 0
    assert main(["record", "--customer", "--json"]) == 0
    assert main(["settings", "--init"]) == 0
    return tmp_path


def at(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder / "config"))


def files(folder: Path) -> Contents:
    """But for what each machine makes for itself: the database, and the key of its cache."""
    own = ("history.db", "cache.key")
    found = (p for p in folder.rglob("*") if p.is_file() and not p.name.startswith(own))
    return {p.relative_to(folder): p.read_bytes() for p in found}


def test_another_machine_has_everything_afterwards(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert main(["backup", str(home / "all.zip")]) == 0
    before = files(home / "one")
    with History() as history:
        visits = history.everything()
    at(home / "two", monkeypatch)
    assert main(["restore", str(home / "all.zip")]) == 0
    assert files(home / "two") == before and len(before) >= 6
    with History() as history:
        assert history.everything() == visits and "elsewhere" in {v.id for v in visits}
    assert main(["delete", "--undo", "20260103-000000"]) == 0


def test_what_is_there_is_not_written_over(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["backup", str(home / "all.zip")]) == 0
    (path,) = (home / "one" / "data" / "gate-diagnose" / "visits").glob("*.visit")
    with Journal.reopen(path)[0] as journal:
        journal.append(Pictured("0" * 16 + ".jpg", "visit"))
    grown = path.read_bytes()
    capsys.readouterr()
    assert main(["restore", str(home / "all.zip")]) == 1
    assert path.read_bytes() == grown
    assert f"left as it is, the backup has it otherwise: {path}" in capsys.readouterr().out
    assert main(["backup", str(home / "all.zip")]) == 2


def spoilt(home: Path, kind: str) -> Path:
    """The backup, changed as nobody should."""
    assert main(["backup", str(home / "all.zip")]) == 0
    with zipfile.ZipFile(home / "all.zip") as packed:
        held = {name: packed.read(name) for name in packed.namelist()}
    name = next(n for n in held if n.endswith(".visit"))
    listed = json.loads(held[LIST])
    if kind == "content":
        held[name] = held[name].replace(b"laser", b"lasar")
    elif kind == "missing":
        del held[name]
    elif kind == "more":
        held["visits/more.visit"] = b"x"
    elif kind == "outside":
        held["visits/../../up"] = held.pop(name)
        listed["files"]["visits/../../up"] = listed["files"].pop(name)
    elif kind == "other":
        listed["format"] = "another"
    held[LIST] = json.dumps(listed).encode()
    target = home / "spoilt.zip"
    with zipfile.ZipFile(target, "w") as packed:
        for name, data in held.items():
            packed.writestr(name, data)
    if kind == "cut":
        target.write_bytes(target.read_bytes()[:-100])
    return target


@pytest.mark.parametrize("kind", ["content", "missing", "more", "outside", "other", "cut"])
def test_a_backup_that_is_not_whole_brings_nothing(home: Path, monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    target = spoilt(home, kind)
    at(home / "two", monkeypatch)
    assert main(["restore", str(target)]) == 2
    assert files(home / "two") == {} and not (home / "up").exists()


def test_a_folder_with_a_dot_in_its_name_comes_back_as_a_folder(home: Path) -> None:
    """The first visit became a file of the folder's name, and the rest were said to be there."""
    visits = home / "site.visits"
    for day in (1, 2):
        with Journal.create(visits, datetime(2026, 1, day)) as journal:
            journal.append(Begin(Setup(), "stuck_open", digest=knowledge().digest))
    before = files(visits)
    assert main(["--visits", str(visits), "backup", str(home / "b.zip")]) == 0
    shutil.rmtree(visits)
    assert main(["--visits", str(visits), "restore", str(home / "b.zip")]) == 0
    after = files(visits)
    assert len(after) >= 2 and after.items() >= {p: d for p, d in before.items() if p.suffix == ".visit"}.items()
