"""The history of visits, the same on SQLite and on PostgreSQL."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.errors import VisitError
from diagnose.model.history import Confirmed, VisitEnd, VisitRecord
from diagnose.model.visit import Answer
from diagnose.store.history.history import History
from tests.store.writers import at, record

BARE = VisitRecord(id="bare", began=at(0), changed=at(0))


def ids(found: tuple[VisitRecord, ...]) -> list[str]:
    return [r.id for r in found]


def test_what_was_saved_is_found_again_whole(url: str) -> None:
    with History(url) as history:
        assert history.save(record("whole"))
        assert history.save(BARE)
        assert history.get("whole") == record("whole")
        assert history.get("bare") == BARE
        assert history.get("other") is None
    with History(url) as again:
        assert ids(again.search()) == ["bare", "whole"]


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
NAME = TEXT.filter(bool)
OUTCOMES = st.builds(
    VisitEnd,
    causes=st.lists(TEXT, max_size=3).map(tuple),
    remedy=TEXT,
    proof_passed=st.booleans(),
    in_service=st.booleans(),
    note=TEXT,
)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
ANSWERS = st.builds(Answer, TEXT, TEXT | NUMBERS, st.booleans(), TEXT, TEXT)
RECORDS = st.builds(
    VisitRecord,
    id=NAME,
    began=st.just(at(0)),
    changed=st.just(at(60)),
    site=TEXT,
    devices=st.lists(TEXT, max_size=3).map(tuple),
    role=st.sampled_from(["technician", "help_desk"]),
    complaint=TEXT,
    words=TEXT,
    knowledge=TEXT,
    state=st.sampled_from(["open", "concluded", "finished"]),
    answers=st.lists(ANSWERS, max_size=3).map(tuple),
    outcome=st.none() | OUTCOMES,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)
@given(RECORDS)
def test_any_text_and_any_number_come_back(url: str, any_record: VisitRecord) -> None:
    with History(url) as history:
        history.save(any_record)
        assert history.get(any_record.id) == any_record


def test_what_no_database_can_hold_is_replaced_and_the_visit_kept(url: str) -> None:
    with History(url) as history:
        history.save(record("odd", words="a\0b", site="\ud800x"))
        found = history.get("odd")
    assert found == record("odd", words="a\ufffdb", site="\ufffdx")


def test_saving_again_changes_nothing_and_a_newer_version_replaces_all_of_it(url: str) -> None:
    newer = replace(BARE, id="v", changed=at(5000), answers=(Answer("one", 1.0),))
    with History(url) as history:
        for _ in range(3):
            history.save(record("v"))
        assert history.search() == (record("v"),)
        history.save(newer)
        assert history.search() == (newer,)


def test_times_are_kept_in_utc(url: str) -> None:
    with History(url) as history:
        history.save(VisitRecord(id="v", began="2026-03-01T14:00:00.25+02:00"))
        assert history.get("v") == VisitRecord(id="v", began=at(0), changed=at(0))


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"id": ""}, "without an id"),
        ({"began": ""}, "when it began is missing"),
        ({"began": "yesterday"}, "is not a time like"),
        ({"ended": "2026-03-01T12:00:00"}, "lacks its offset"),
        ({"answers": (Answer("volts", float("nan")),)}, "'volts': nan is no reading"),
        ({"answers": (Answer("volts", float("inf")),)}, "'volts': inf is no reading"),
    ],
)
def test_a_record_that_makes_no_sense_is_refused_and_nothing_of_it_kept(
    url: str, wrong: dict[str, Any], says: str
) -> None:
    with History(url) as history:
        with pytest.raises(VisitError, match=says):
            history.save(record("v", **wrong))
        assert history.search() == ()


# --- search ----------------------------------------------------------------------------------------------------


@pytest.fixture
def filled(url: str) -> History:
    history = History(url)
    thick = VisitEnd(causes=("sun_on_lens",), remedy="hood fitted", proof_passed=True, note="Überprüft 100 %")
    history.save(record("a", 10, site="North  Gate", words="opens when it RAINS", devices=("laser",)))
    history.save(record("b", 20, site="north gate", words="Öffnet von allein", devices=("loop",), outcome=None))
    history.save(record("c", 30, site="North Gate Two", words="stays open_wide", devices=("radar",), outcome=thick))
    return history


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({}, ["c", "b", "a"]),
        ({"words": "rains"}, ["a"]),
        ({"words": "opens  RAINS"}, ["a"]),
        ({"words": "rains allein"}, []),
        ({"words": "öffnet"}, ["b"]),
        ({"words": "ÜBERPRÜFT"}, ["c"]),
        ({"words": "100 %"}, ["c"]),
        ({"words": "%"}, ["c"]),
        ({"words": "n_wide"}, ["c"]),
        ({"words": "n__wide"}, []),
        ({"words": "lens sun"}, ["c"]),
        ({"words": "thin_cable"}, ["a"]),
        ({"words": "ghost opening", "device": "loop"}, ["b"]),
        ({"site": "NORTH gate"}, ["c", "b", "a"]),
        ({"site": "two"}, ["c"]),
        ({"site": "north gate", "device": "laser"}, ["a"]),
        ({"device": "las"}, []),
        ({"limit": 2}, ["c", "b"]),
        ({"limit": 0}, []),
        ({"words": "' OR 1=1 --"}, []),
    ],
)
def test_search(filled: History, query: dict[str, object], expected: list[str]) -> None:
    with filled:
        assert ids(filled.search(**query)) == expected  # type: ignore[arg-type]


def test_a_search_beyond_reason_is_refused(filled: History) -> None:
    with filled:
        for words in ("x " * 21, "x" * 201):
            with pytest.raises(VisitError, match="search for at most 20 words"):
                filled.search(words)


def test_this_site_had_this_before(filled: History) -> None:
    with filled:
        assert ids(filled.at_site(" NORTH gate ")) == ["b", "a"]
        assert filled.at_site("north") == filled.at_site("") == ()


def test_confirmed_outcomes_are_those_proved_by_mending(filled: History) -> None:
    guessed = VisitEnd(causes=("thin_cable",), proof_passed=False, in_service=True)
    with filled:
        filled.save(record("guess", outcome=guessed))
        filled.save(record("blank", outcome=VisitEnd(causes=(), proof_passed=True)))
        both = replace(guessed, causes=("x", "y"), proof_passed=True)
        filled.save(record("two", devices=("laser", "loop"), outcome=both))
        everything = filled.confirmed()
        assert everything == (
            Confirmed("a", ("laser",), ("thin_cable",)),
            Confirmed("c", ("radar",), ("sun_on_lens",)),
            Confirmed("two", ("laser", "loop"), ("x", "y")),
        )
        assert filled.confirmed("laser") == (everything[0], everything[2])


# --- export, import, backup ------------------------------------------------------------------------------------


def test_an_export_brings_everything_to_another_history(filled: History, tmp_path: Path) -> None:
    file = tmp_path / "all.jsonl"
    with filled, History(str(tmp_path / "other.db")) as other:
        assert filled.export(file) == 3
        assert other.import_(file) == 3
        assert other.search() == filled.search()
        other.export(tmp_path / "again.jsonl")
    assert (tmp_path / "again.jsonl").read_bytes() == file.read_bytes()


def test_more_visits_than_are_read_at_once_are_exported(url: str, tmp_path: Path) -> None:
    with History(url) as history:
        history.save_all(record(f"v{n}", n) for n in range(450))
        assert history.export(tmp_path / "all.jsonl") == 450
        with History(str(tmp_path / "other.db")) as other:
            other.import_(tmp_path / "all.jsonl")
            assert other.search(limit=1000) == history.search(limit=1000)


def test_importing_over_newer_visits_keeps_the_newer_ones(filled: History, tmp_path: Path) -> None:
    newer = record("a", 10, words="newer", changed=at(9000))
    with filled:
        filled.export(tmp_path / "old.jsonl")
        filled.save(newer)
        assert filled.import_(tmp_path / "old.jsonl") == 2
        assert filled.get("a") == newer


def damage(lines: list[str], kind: str) -> list[str]:
    wrong = json.loads(lines[1]) | {"role": "wizard"}
    return {
        "the end is cut off": lines[:-1],
        "cut in a line": [*lines[:2], lines[2][:40]],
        "a visit is missing": [*lines[:1], *lines[2:]],
        "a field has no meaning": [lines[0], json.dumps(wrong), *lines[2:]],
        "a reading is no number": [lines[0], lines[1].replace("9.8", "NaN"), *lines[2:]],
        "not a history": ["{}", *lines[1:]],
        "empty": [],
    }[kind]


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        ("the end is cut off", "the end of the file is missing"),
        ("cut in a line", "line 3"),
        ("a visit is missing", "line 3"),
        ("a field has no meaning", r"line 2: role: Input should be 'technician' or 'help_desk'"),
        ("a reading is no number", "is no reading"),
        ("not a history", "not an exported history"),
        ("empty", "not an exported history"),
    ],
)
def test_a_damaged_export_is_refused_whole(url: str, tmp_path: Path, kind: str, says: str) -> None:
    file = tmp_path / "all.jsonl"
    with History(str(tmp_path / "from.db")) as source:
        source.save_all([record("v"), record("w", 1)])
        source.export(file)
    file.write_text("".join(line + "\n" for line in damage(file.read_text("utf-8").splitlines(), kind)), "utf-8")
    with History(url) as history:
        with pytest.raises(VisitError, match=says):
            history.import_(file)
        assert history.search() == ()


def test_a_backup_is_a_history_itself(filled: History, tmp_path: Path) -> None:
    with filled:
        assert filled.backup(tmp_path / "backup.db") == 3
        kept = filled.search()
    assert [p.name for p in tmp_path.iterdir() if "backup" in p.name] == ["backup.db"]
    with History(str(tmp_path / "backup.db")) as copy:
        assert copy.search() == kept


def test_no_file_is_ever_overwritten(filled: History, tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    kept.write_text("mine")
    with filled:
        for write in (filled.export, filled.backup):
            with pytest.raises(VisitError, match="exists already"):
                write(kept)
            with pytest.raises(VisitError, match="cannot write"):
                write(tmp_path / "no such folder" / "file")
        with pytest.raises(VisitError, match="cannot read"):
            filled.import_(tmp_path / "not there")
    assert kept.read_text() == "mine"
