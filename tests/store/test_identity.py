"""Nothing takes the place of a visit that is kept but a copy of it that goes further."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Close, Conclude, Event, Reply, TakeOver
from diagnose.store.history import intake
from diagnose.store.history.forget import forget
from diagnose.store.history.history import History
from diagnose.store.history.lineage import clash, relation
from diagnose.store.history.saving import OtherVisit
from diagnose.store.journal import Journal, read
from diagnose.words import say
from tests.shipped import knowledge

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
BEGIN = Begin(
    Setup(devices=("laser",)), "ghost_opening", site="north gate", digest=knowledge().digest, id="the-number"
)
FIRST = Reply("anyone_touched", "nobody")


def visit(folder: Path, *events: Event, day: int = 1) -> Path:
    with Journal.create(folder, datetime(2026, 3, day, 12)) as journal:
        for event in (BEGIN, *events):
            journal.append(event, NOON)
    return journal.path


def taken(folder: Path) -> tuple[History, dict[Path, str]]:
    history = History(str(folder / "history.db"))
    return history, dict(intake.take_in(history, knowledge(), folder.glob("*.visit")))


def answers(history: History) -> list[tuple[str, list[str]]]:
    return sorted((r.id, [str(a.value) for a in r.answers]) for r in history.everything())


def test_a_copy_that_goes_further_takes_the_place_of_the_older_one_and_never_the_reverse(
    tmp_path: Path,
) -> None:
    visit(tmp_path, FIRST, Reply("power_lamp", "steady"))
    visit(tmp_path, FIRST, day=2)
    history, told = taken(tmp_path)
    with history:
        assert answers(history) == [("the-number", ["nobody", "steady"])]
        assert not told


def test_a_foreign_file_with_a_known_number_replaces_nothing_until_a_person_says_so(tmp_path: Path) -> None:
    """A later date was enough."""
    mine = visit(tmp_path, FIRST)
    history, told = taken(tmp_path)
    with history:
        forged = visit(tmp_path, Reply("power_lamp", "off"), Conclude(), day=9)
        for _ in range(2):  # said each time, though the file is read once
            told = dict(intake.take_in(history, knowledge(), tmp_path.glob("*.visit")))
            assert list(told) == [forged] and f"diagnose history --keep {forged.stem}" in told[forged]
            assert answers(history) == [("the-number", ["nobody"])]
        forget(history, forged)  # the forged one put aside takes nothing with it
        assert answers(history) == [("the-number", ["nobody"])]
        assert intake.decide(history, knowledge(), forged)
        assert not intake.take_in(history, knowledge(), [forged])
        assert answers(history) == [("the-number", ["off"])]
        assert read(mine).events[1] == FIRST


def test_two_take_overs_of_one_file_both_stay(tmp_path: Path) -> None:
    original = read(visit(tmp_path / "office", FIRST))
    for van, answer in (("van 1", "steady"), ("van 2", "off")):
        with Journal.copied(tmp_path, datetime(2026, 3, 2, 12), original, TakeOver(Setup(), van)) as journal:
            journal.append(Reply("power_lamp", answer))
    history, told = taken(tmp_path)
    with history:
        assert not told
        assert sorted(a for _, a in answers(history)) == [["nobody", "off"], ["nobody", "steady"]]
        assert sorted(stem for _, stem in intake.names(history, tmp_path)) == ["20260302-120000", "20260302-120000-1"]
        (branch,) = (id for id, _ in answers(history) if id != "the-number")
        assert branch.startswith("the-number~")
        for path in tmp_path.glob("*.visit"):  # each goes on where it is
            opened, _ = Journal.reopen(path)
            with opened:
                opened.append(Conclude())
                opened.append(Close("left_out", "no part"))
        intake.take_in(history, knowledge(), tmp_path.glob("*.visit"))
        assert [r.state for r in history.everything()] == ["finished", "finished"]


def test_a_foreign_file_that_is_taken_over_is_told_in_the_same_words(tmp_path: Path) -> None:
    mine = visit(tmp_path, FIRST)
    foreign = read(visit(tmp_path / "other", Reply("power_lamp", "off")))
    with Journal.copied(tmp_path, datetime(2026, 3, 2, 12), foreign, TakeOver(Setup(), "x")) as journal:
        assert clash(journal.path) == say("store.other_visit", name=journal.path.stem)
    with Journal.copied(tmp_path, datetime(2026, 3, 3, 12), read(mine), TakeOver(Setup(), "y")) as journal:
        journal.path.with_name("20260302-120000.visit").unlink()
        assert clash(journal.path) == ""


def test_an_export_with_another_content_for_a_known_number_is_refused_whole(tmp_path: Path) -> None:
    visit(tmp_path, FIRST)
    history, _ = taken(tmp_path)
    other = tmp_path / "other"
    visit(other, Reply("power_lamp", "off"))
    with history, taken(other)[0] as foreign:
        foreign.export(tmp_path / "foreign.jsonl")
        with pytest.raises(OtherVisit):
            history.import_(tmp_path / "foreign.jsonl")
        assert answers(history) == [("the-number", ["nobody"])]


def test_a_damaged_copy_takes_no_whole_one_s_place(tmp_path: Path) -> None:
    path = visit(tmp_path, FIRST, Reply("power_lamp", "steady"))
    history, _ = taken(tmp_path)
    with history:
        path.write_bytes(path.read_bytes().replace(b"nobody", b"noboDy"))
        (says,) = intake.take_in(history, knowledge(), [path]).values()
        assert "line 2" in says
        assert answers(history) == [("the-number", ["nobody", "steady"])]


@pytest.mark.parametrize(
    ("kept", "new", "means"),
    [
        ("", "e11111111", "unknown"),
        ("e11111111", "e11111111e22222222", "newer"),
        ("e11111111e22222222", "e11111111", "older"),
        ("e11111111", "e11111111", "older"),
        ("e11111111---------", "e11111111e22222222", "newer"),
        ("e11111111t22222222", "e11111111e33333333", "branch"),
        ("e11111111e22222222", "e11111111e33333333e44444444", "conflict"),
    ],
)
def test_how_two_files_with_one_number_stand_to_each_other(kept: str, new: str, means: str) -> None:
    assert relation(kept, new) == means
