"""Who has read what: a reading holds for the words that were read, and what changed since is listed."""

import re
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli import main
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.load import load_entries
from diagnose.kb.review import (
    FILE,
    ROLES,
    brought_up,
    changed,
    digest_of,
    entries_of,
    read_by,
    state_of,
    state_text,
    unread,
)
from diagnose.kb.text import parse

ONE, OTHER = "causes.mains_lost", "checks.sup_mains_present"
DAY, NEXT = "2026-01-01", "2026-01-02"


@cache
def entries() -> dict[str, Any]:
    return entries_of(load_entries(read_files(shipped_folder("knowledge"))))


def rewritten(name: str, **fields: Any) -> dict[str, Any]:
    return {**entries(), name: replace(entries()[name], **fields)}


def test_a_reading_holds_until_the_entry_is_rewritten() -> None:
    state = read_by(brought_up({}, entries(), DAY), "master", {ONE: ""}, DAY)
    assert ONE not in unread(state, entries(), "master") and OTHER in unread(state, entries(), "master")
    after = rewritten(ONE, explain="Otherwise.")
    assert changed(state, after) == [ONE]
    assert ONE in unread(brought_up(state, after, NEXT), after, "master")


def test_the_day_of_a_change_is_that_of_the_entry_alone() -> None:
    after = rewritten(ONE, explain="Otherwise.")
    state = brought_up(brought_up({}, entries(), DAY), after, NEXT)
    assert state[ONE].changed == NEXT and state[OTHER].changed == DAY
    assert changed(state, after) == [] and changed(state, entries()) == [ONE]


def test_a_doubt_is_left_until_somebody_reads_without_one() -> None:
    state = read_by(brought_up({}, entries(), DAY), "trainee", {ONE: "what is a neutral?"}, DAY)
    assert ONE in unread(state, entries(), "trainee")
    assert ONE not in unread(read_by(state, "trainee", {ONE: ""}, NEXT), entries(), "trainee")


def test_what_is_new_and_what_is_gone_is_listed() -> None:
    state = brought_up({}, entries(), DAY)
    fewer = {name: entry for name, entry in entries().items() if name != ONE}
    assert changed(state, fewer) == [ONE]
    assert changed(brought_up({}, fewer, DAY), entries()) == [ONE]


def test_a_caller_reads_what_is_said_to_callers() -> None:
    mine = unread({}, entries(), "caller")
    assert "cautions.caller_plug" in mine and "causes.mains_lost" in mine and "checks.anyone_touched" in mine
    assert "causes.solid_state_polarity_wrong" not in mine and OTHER not in mine
    assert len(unread({}, entries(), "master")) == len(entries())


def test_only_content_counts() -> None:
    entry = entries()[ONE]
    assert digest_of(entry) == digest_of(replace(entry, complaints=dict(entry.complaints)))
    assert digest_of(entry) != digest_of(replace(entry, proof_minutes=entry.proof_minutes + 1))


def test_a_state_survives_its_file() -> None:
    state = brought_up({}, entries(), DAY)
    state = read_by(read_by(state, "caller", {ONE: "what: a 'plug'?"}, DAY), "master", {ONE: ""}, NEXT)
    assert state_of(parse(state_text(state), FILE).value) == state


@pytest.mark.parametrize(
    "value", [[1], {"a": 1}, {"a": {"as": "x"}}, {"a": {"as": "x", "changed": "y", "read": [1]}}]
)
def test_what_is_no_state_is_refused(value: Any) -> None:
    with pytest.raises(ValueError):
        state_of(value)


def test_from_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Registered, read, rewritten: each is said by the check."""
    folder, list_ = tmp_path / "knowledge", tmp_path / "list"
    shutil.copytree(shipped_folder("knowledge"), folder, ignore=shutil.ignore_patterns("cases", "coverage", "review"))
    list_.write_text(f"{ONE}\n{OTHER}: which cover?\n", "utf-8")
    check = ["check-knowledge", str(folder)]
    assert main([*check, "--register"]) == 0 and main([*check, "--read", "master", str(list_)]) == 0
    capsys.readouterr()
    assert main([*check, "--unread", "master"]) == 0
    listed = capsys.readouterr().out
    assert f"{OTHER}: which cover?" in listed and ONE not in listed
    cause = folder / "supply/causes.yaml"
    cause.write_text(re.sub(r"proof_minutes: \d+", "proof_minutes: 7", cause.read_text("utf-8"), count=1), "utf-8")
    assert main(check) == 1
    assert "one entry changed since" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("role", "text", "says"), [("boss", ONE, *ROLES[:1]), ("master", "causes.nothing", "causes.nothing")]
)
def test_a_wrong_role_or_entry_is_refused_by_name(
    role: str, text: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "list").write_text(text, "utf-8")
    assert main(["check-knowledge", "--read", role, str(tmp_path / "list")]) != 0
    shown = capsys.readouterr()
    assert says in shown.out + shown.err
