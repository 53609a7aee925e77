"""Inputs made to exhaust: refused within two seconds of processor time, with a message that says the limit."""

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.errors import DiagnoseError
from diagnose.kb import files
from diagnose.kb.check import main as check_folder
from diagnose.kb.files import read_files
from diagnose.kb.load import load_entries
from diagnose.practice import case_file, exercise_file
from diagnose.practice.case_file import load_case
from diagnose.store import limits, profiles, scripts, triplogs
from diagnose.store.journal import read
from diagnose.store.profiles import load_profile
from diagnose.store.scripts import load_script
from diagnose.triplog.cells import LONGEST_LINE
from diagnose.triplog.layout import MOST_COLUMNS, Layout, find_layout
from diagnose.triplog.rows import read_rows
from tests.faults.limits import within
from tests.faults.test_mutated import a_log
from tests.practice.gates import shipped
from tests.shipped import knowledge

QUICK_S = 2.0
HUGE = 100_000_000


def refused(use: Callable[[Path], object], path: Path) -> str:
    """The message, once it came quickly enough."""
    with within(QUICK_S), pytest.raises(DiagnoseError) as raised:
        use(path)
    assert len(str(raised.value)) < 20_000
    return str(raised.value)


def the_knowledge(path: Path) -> None:
    problems = load_entries(read_files(path.parent)).problems
    if problems:
        raise DiagnoseError("\n".join(map(str, problems)))


READERS: dict[str, tuple[Callable[[Path], object], int]] = {
    "knowledge": (the_knowledge, files.MAX_BYTES),
    "profile": (lambda p: load_profile(str(p)), profiles.MAX_BYTES),
    "script": (load_script, scripts.MAX_BYTES),
    "case": (load_case, case_file.MAX_BYTES),
}
REST: dict[str, tuple[Callable[[Path], object], int]] = {
    "visit": (read, limits.MAX_BYTES),
    "exercise": (lambda p: exercise_file.load(shipped(), p), exercise_file.MAX_BYTES),
    "log": (lambda p: a_log(p), triplogs.MAX_BYTES),
}


@pytest.mark.parametrize("kind", [*READERS, *REST])
def test_a_file_beyond_the_limit_is_refused_quickly_and_says_the_limit(kind: str, tmp_path: Path) -> None:
    use, limit = (READERS | REST)[kind]
    knowledge()
    path = tmp_path / "huge.yaml"
    path.touch()
    os.truncate(path, max(HUGE, limit + 1))
    assert f"{limit:,} bytes" in refused(use, path)


@pytest.mark.parametrize("kind", ["profile", "script", "case", "visit", "exercise"])
def test_a_device_without_an_end_is_refused_too(kind: str, tmp_path: Path) -> None:
    use, _ = (READERS | REST)[kind]
    (tmp_path / "endless").symlink_to("/dev/zero")
    assert "is a link, a pipe or a device" in refused(use, tmp_path / "endless")


BOMBS = {
    "aliases": "a0: &a0 [x, x, x, x, x, x, x, x, x]\n"
    + "".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]\n" for n in range(1, 12)),
    "merges": "a: &a {x: 1}\nb: &b {<<: *a}\nc: {<<: [*a, *b]}\n",
    "flow nesting": "a: " + "[" * 40_000,
    "map nesting": "a: " + "{a: " * 20_000,
    "block nesting": "\n".join(" " * n + "a:" for n in range(300)),
    "list nesting": "- " * 30_000,
    "key nesting": "? " * 30_000,
    "tags": "!!python/object/apply:os.system ['true']\n",
    "same keys": "a: b\n" * 18_000,
    "same entries": "causes:\n" + "  a: {}\n" * 12_000,
    "many keys": "causes:\n" + "".join(f"  a{n}: {{}}\n" for n in range(6000)),
    "long key": "x" * 90_000 + ": y\n",
    "long number": "a: " + "9" * 90_000,
    "quotes": 'a: "' + "\\x41" * 20_000,
    "NULs": "\0" * 90_000,
    "documents": "--- a\n" * 15_000,
    "comments": "#\n" * 45_000,
}


@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize("bomb", BOMBS)
def test_a_bomb_within_the_limit_is_refused_quickly(kind: str, bomb: str, tmp_path: Path) -> None:
    use, limit = READERS[kind]
    path = tmp_path / "bomb.yaml"
    path.write_text(BOMBS[bomb])
    assert path.stat().st_size < limit
    assert "bomb.yaml:" in refused(use, path) or bomb in ("tags", "many keys")


@pytest.mark.parametrize("bomb", ["same keys", "same entries", "many keys", "documents"])
def test_a_knowledge_file_full_to_the_limit_is_judged_in_bounded_time(
    bomb: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    body = BOMBS[bomb]
    head, _, line = body.partition("\n") if bomb in ("same entries", "many keys") else ("", "", body)
    (tmp_path / "full.yaml").write_text(head + "\n" + line * ((files.MAX_BYTES - 100) // len(line)))
    with within(30):
        assert check_folder(str(tmp_path)) == 1
    assert len(capsys.readouterr().out) < 1_000_000


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b'"' + b"a" * HUGE, "columns in lines of up to"),
        (b"," * HUGE, "columns in lines of up to"),
        (b"time," + b"x," * MOST_COLUMNS + b"\n" + b"2026-01-01 10:00," * 3, "columns in lines of up to"),
        (b"a,b\n" + b"1,2\n" * 200_000, "no times that can be read"),
        (b",".join([b"7"] * MOST_COLUMNS) + b"\n" + (b",".join([b"7:"] * MOST_COLUMNS) + b"\n") * 500, "no times"),
        (b"\0" * 100_000, "columns in lines of up to"),
    ],
    ids=["one quote", "commas", "wide", "no times", "almost times", "NULs"],
)
def test_a_table_that_is_none_is_refused_quickly(content: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    assert says in refused(a_log, path)


def test_a_line_too_long_among_good_ones_is_one_bad_row() -> None:
    """A quote in a line longer than the csv module takes ended the program."""
    good = [f"2026-03-01 14:{m:02d}:00,trip" for m in range(30)]
    lines = ["time,event", *good, '"' + "x" * 200_000, "2026-03-02 10:00:00,trip"]
    layout = find_layout(lines, {})
    assert isinstance(layout, Layout)
    rows = read_rows(lines, layout)
    assert dict(rows.bad.counts) == {f"longer than {LONGEST_LINE:,} characters": 1}
    assert len(rows.clock) == 31


@pytest.mark.long
def test_a_hundred_megabytes_of_rows_are_a_log_like_any_other(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    row = b"2026-03-01 14:05:00,trip\n"
    path.write_bytes(b"time,event\n" + row * (HUGE // len(row)))
    began = time.monotonic()
    a_log(path)
    print(f"\n{HUGE:,} bytes, {HUGE // len(row):,} rows in {time.monotonic() - began:.0f} s")
