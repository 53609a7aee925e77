"""Progress: what an exercise changes, the file round trip, and files that are corrupt, hostile, foreign or newer."""

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import DiagnoseError, VisitError
from diagnose.practice.mastery import Mastery
from diagnose.practice.progress import MOST_KEPT, Progress, WorkedExercise, from_plain, to_plain
from diagnose.practice.progress_file import everybody, file_of, load, save

GOOD = WorkedExercise(739000, 7, "first_steps", ("supply",), 90.0, 40.0, 35.0, 0.02, "solved", ("settled",))


def test_an_exercise_moves_its_families_and_its_lesson() -> None:
    p = Progress("Ann").after(GOOD)
    assert p.families == {"supply": Mastery(1.9, 1.1, 739000, 1)}
    assert p.lessons == {"first_steps": Mastery(1.9, 1.1, 739000, 1)}
    assert (p.worked, p.slips()) == ((GOOD,), {"settled": 1})


def test_a_trainer_s_case_counts_for_its_families_but_for_no_lesson() -> None:
    case = WorkedExercise(1, 1, "case", ("zone", "supply"), 50.0, 1.0, 1.0, -1.0, "left_out", ())
    p = Progress("Ann").after(case)
    assert (set(p.families), p.lessons) == ({"zone", "supply"}, {})


def test_only_the_last_exercises_are_remembered_one_by_one() -> None:
    p = Progress("Ann")
    for _ in range(MOST_KEPT + 3):
        p = p.after(GOOD)
    assert len(p.worked) == MOST_KEPT
    assert p.families["supply"].seen == pytest.approx(MOST_KEPT + 3)


def test_a_file_says_what_was_saved(tmp_path: Path) -> None:
    p = Progress("Ann Müller").after(GOOD)
    path = save(tmp_path / "new", p)
    assert load(tmp_path / "new", "Ann  Müller") == (p, "")
    assert path.parent == tmp_path / "new"
    assert [x.name for x in path.parent.iterdir()] == [path.name]  # no temporary file left


def test_a_trainee_without_a_file_starts_afresh(tmp_path: Path) -> None:
    assert load(tmp_path, "Ann") == (Progress("Ann"), "")


@pytest.mark.parametrize("name", ["../../etc/passwd", "a/b", ".", "..", "CON", "x" * 60, "名前", "%2e%2e"])
def test_no_name_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    assert file_of(tmp_path, name).resolve().parent == tmp_path.resolve()


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "a\x00b", "a\x1b[31m"])
def test_names_that_cannot_be_shown_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(VisitError):
        file_of(tmp_path, name)


def test_names_that_look_alike_in_a_file_name_do_not_share_a_file(tmp_path: Path) -> None:
    assert file_of(tmp_path, "a b") != file_of(tmp_path, "a-b")
    assert file_of(tmp_path, "Ann") == file_of(tmp_path, "ann")


MASTERY = {"a": 2.0, "b": 1.0, "last": 3, "streak": 1}
WHOLE = to_plain(Progress("Ann").after(GOOD))


def changed(**more: object) -> str:
    return json.dumps({**WHOLE, **more})


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '"text"',
        "\ufeff{}",
        "[" * 100_000,
        changed(version=0),
        changed(version="1"),
        changed(version=True),
        changed(trainee=5),
        changed(trainee="x" * 500),
        changed(families=[]),
        changed(families={"supply": {**MASTERY, "a": 0.5}}),
        changed(families={"supply": {**MASTERY, "a": "2"}}),
        changed(families={"supply": {**MASTERY, "a": True}}),
        changed(families={"supply": {**MASTERY, "b": float("nan")}}),
        changed(families={"supply": {**MASTERY, "b": float("inf")}}),
        changed(families={"supply": {**MASTERY, "b": 1e300}}),
        changed(families={"supply": {**MASTERY, "last": 1.5}}),
        changed(families={"supply": {**MASTERY, "streak": -1}}),
        changed(families={f"f{i}": MASTERY for i in range(1000)}),
        changed(worked={}),
        changed(worked=[1]),
        changed(worked=[{**WHOLE["worked"][0], "score": 1e9}]),
        changed(worked=[{**WHOLE["worked"][0], "slips": "settled"}]),
    ],
)
def test_a_file_that_cannot_be_used_is_set_aside_whole(tmp_path: Path, text: str) -> None:
    path = file_of(tmp_path, "Ann")
    path.write_text(text, "utf-8")
    p, says = load(tmp_path, "Ann")
    assert p == Progress("Ann")
    assert "kept as" in says
    (aside,) = tmp_path.iterdir()
    assert aside.read_text("utf-8") == text
    save(tmp_path, p.after(GOOD))
    assert load(tmp_path, "Ann")[1] == ""


def test_bytes_that_are_no_text_and_files_too_large_are_set_aside(tmp_path: Path) -> None:
    path = file_of(tmp_path, "Ann")
    for data in (b"\xff\xfe\x00", b" " * 2_000_001):
        path.write_bytes(data)
        assert "kept as" in load(tmp_path, "Ann")[1]
    assert len(list(tmp_path.iterdir())) == 2


def test_a_file_of_a_later_program_is_left_alone(tmp_path: Path) -> None:
    path = file_of(tmp_path, "Ann")
    path.write_text(changed(version=2), "utf-8")
    with pytest.raises(VisitError, match="later version"):
        load(tmp_path, "Ann")
    assert path.read_text("utf-8") == changed(version=2)


def test_a_write_that_fails_leaves_the_old_file_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save(tmp_path, Progress("Ann"))

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(VisitError, match="No space"):
        save(tmp_path, Progress("Ann").after(GOOD))
    assert load(tmp_path, "Ann") == (Progress("Ann"), "")
    assert len(list(tmp_path.iterdir())) == 1


def test_everybody_is_listed_and_damaged_files_are_named_but_not_touched(tmp_path: Path) -> None:
    for name in ("Ben", "ann"):
        save(tmp_path, Progress(name))
    (tmp_path / "broken.json").write_text("{", "utf-8")
    found, wrong = everybody(tmp_path)
    assert [p.trainee for p in found] == ["ann", "Ben"]
    assert len(wrong) == 1
    assert (tmp_path / "broken.json").exists()
    assert everybody(tmp_path / "nowhere") == ([], [])


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.integers(),
    lambda x: st.lists(x, max_size=3) | st.dictionaries(st.sampled_from([*WHOLE, *WHOLE["worked"][0], "a"]), x),
    max_leaves=12,
)


@given(JSON)
def test_nothing_but_a_progress_is_ever_taken_for_one(plain: object) -> None:
    try:
        found = from_plain(plain)
    except DiagnoseError:
        return
    assert from_plain(json.loads(json.dumps(to_plain(found)))) == found
