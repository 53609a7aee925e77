"""Visit files: on disk before anything else happens, and readable up to whatever went wrong."""

import errno
import io
import json
import os
import subprocess
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Reply
from diagnose.store import journal as module
from diagnose.store.journal import Journal, read
from diagnose.store.limits import MAX_BYTES
from diagnose.store.recover import Recovered
from tests.store.sealed import seal

NOON = datetime(2026, 3, 1, 12, 0, 0)
EVENTS: tuple[Event, ...] = (
    Begin(Setup(profile={"site.supply_v": 24.0}), "ghost_opening", "öffnet von allein", "north gate"),
    Reply("anyone_touched", "nobody"),
    Reply("gate_made_safe", "safe", sure=False),
    Reply("sup_volts_sensor", 9.8),
)


def written(folder: Path, events: tuple[Event, ...] = EVENTS) -> Path:
    with Journal.create(folder, NOON) as journal:
        for event in events:
            journal.append(event)
    return journal.path


def test_what_was_appended_is_read_back(tmp_path: Path) -> None:
    found = read(written(tmp_path))
    assert (found.events, found.damage) == (EVENTS, "")
    assert all(datetime.fromisoformat(at).utcoffset() is not None for at in found.times)


def test_every_line_is_json_with_its_number(tmp_path: Path) -> None:
    lines = [json.loads(line) for line in written(tmp_path).read_text("ascii").splitlines()]
    assert all(set(line) - {"boot", "on", "opening"} == {"v", "n", "at", "event", "sum"} for line in lines)
    assert [n for n, line in enumerate(lines, start=1) if "opening" in line] == [2]
    assert [line["n"] for line in lines] == [1, 2, 3, 4]


def test_an_event_is_written_and_synced_before_append_returns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []

    def fsync(handle: int, real: object = os.fsync) -> None:
        synced.append(os.fstat(handle).st_size)
        real(handle)  # type: ignore[operator]

    monkeypatch.setattr(os, "fsync", fsync)
    with Journal.create(tmp_path, NOON) as journal:
        for event in EVENTS:
            journal.append(event)
            assert journal.path.stat().st_size in synced[-2:]  # the first one is followed by the folder
            assert read(journal.path).events[-1] == event


@given(st.data())
def test_a_file_cut_anywhere_keeps_every_whole_line(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    path = written(tmp_path_factory.mktemp("cut"))
    whole = path.read_bytes()
    cut = data.draw(st.integers(0, len(whole)))
    path.write_bytes(whole[:cut])
    found = read(path)
    complete = whole[:cut].count(b"\n")
    assert found.events[:complete] == EVENTS[:complete]
    assert len(found.events) <= complete + 1  # a line that lacks only its end is whole
    assert found.events == EVENTS[: len(found.events)]
    if found.damage:
        assert "half written" in found.damage
    if found.broken and not found.events:
        return
    opened, _ = Journal.reopen(path)
    with opened:
        opened.append(Reply("when_it_happens", "wet"))
    assert read(path) == Recovered((*found.events, Reply("when_it_happens", "wet")), read(path).times, "")


@given(st.data())
def test_a_flipped_bit_anywhere_never_gives_a_wrong_answer(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    path = written(tmp_path_factory.mktemp("flip"))
    spoiled = bytearray(path.read_bytes())
    at, bit = data.draw(st.integers(0, len(spoiled) - 1)), data.draw(st.integers(0, 7))
    line = spoiled[:at].count(b"\n")
    spoiled[at] ^= 1 << bit
    path.write_bytes(spoiled)
    found = read(path)  # one bit may leave the same text: the case of a hexadecimal digit in an escape
    assert found.events in (EVENTS, tuple(e for n, e in enumerate(EVENTS) if n != line))
    assert found.damage or found.events == EVENTS


def test_a_last_line_that_lacks_only_its_end_is_kept_and_ended(tmp_path: Path) -> None:
    path = written(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    assert (read(path).events, read(path).damage) == (EVENTS, "")
    opened, _ = Journal.reopen(path)
    opened.close()
    assert path.read_bytes() == whole


def test_lines_in_the_wrong_order_are_used_in_the_right_one(tmp_path: Path) -> None:
    path = written(tmp_path)
    first, second, third, fourth = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(first + third + second + fourth)
    found = read(path)
    assert found.events == EVENTS
    assert found.damage == "line 3 stands in a wrong place; 4 entries are whole and are used"


@pytest.mark.parametrize(
    "line",
    [b"null", b"[]", b"{}", b'{"n":1}', b"[" * 100_000, b"\xff\xfe", b'{"n":1' + b"0" * 5000 + b"}", b""],
    ids=repr,
)
def test_foreign_lines_are_damage_and_nothing_worse(tmp_path: Path, line: bytes) -> None:
    path = tmp_path / "x.visit"
    path.write_bytes(line + b"\n")
    assert read(path).events == ()
    assert read(path).damage.startswith("line 1 is damaged")


def test_a_sealed_line_with_a_hostile_event_is_damage(tmp_path: Path) -> None:
    for event in (None, "begin", {"event": "begin", "setup": {"role": "technician", "devices": 3}, "complaint": "x"}):
        plain = {"n": 1, "at": "now", "event": event}
        path = tmp_path / "x.visit"
        path.write_text(json.dumps({**plain, "sum": seal(plain)}) + "\n", "utf-8")
        assert read(path).damage.startswith("line 1 is damaged")


def test_an_empty_file_is_a_visit_without_events(tmp_path: Path) -> None:
    path = tmp_path / "x.visit"
    path.touch()
    assert read(path) == Recovered((), (), "")


def test_a_file_too_large_or_missing_or_a_folder_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.visit"
    path.touch()
    os.truncate(path, MAX_BYTES + 1)
    with pytest.raises(VisitError, match="larger than"):
        read(path)
    with pytest.raises(VisitError, match="cannot read"):
        read(tmp_path / "missing.visit")
    with pytest.raises(VisitError, match="cannot read"):
        read(tmp_path)
    with pytest.raises(VisitError, match="cannot read"):
        Journal.reopen(tmp_path / "missing.visit")
    assert not (tmp_path / "missing.visit").exists()


def test_reopening_a_damaged_file_keeps_it_and_every_line_that_is_whole(tmp_path: Path) -> None:
    path = written(tmp_path)
    spoiled = path.read_bytes().replace(b"9.8", b"8.8")
    path.write_bytes(spoiled)
    opened, found = Journal.reopen(path)
    with opened:
        opened.append(Reply("sup_volts_sensor", 9.9))
    assert "the checksum does not fit" in found.damage
    copies = list(tmp_path.glob("*.damaged-*"))
    assert [c.read_bytes() for c in copies] == [spoiled]
    assert read(path).events == (*EVENTS[:3], Reply("sup_volts_sensor", 9.9))
    assert read(path).damage == ""


def test_a_second_writer_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path)
    opened, _ = Journal.reopen(path)
    with opened, pytest.raises(VisitError, match="open in another window"):
        Journal.reopen(path)
    again, found = Journal.reopen(path)
    again.close()
    assert found.events == EVENTS


def test_visits_of_the_same_second_get_their_own_names(tmp_path: Path) -> None:
    names = [written(tmp_path).name for _ in range(3)]
    assert names == ["20260301-120000.visit", "20260301-120000-1.visit", "20260301-120000-2.visit"]


def refuse(code: int) -> object:
    def fail(*_: object) -> int:
        raise OSError(code, os.strerror(code))

    return fail


@pytest.mark.parametrize(("code", "advice"), [(errno.ENOSPC, "free some space"), (errno.EIO, "look at the disk")])
def test_a_failed_sync_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, advice: str
) -> None:
    path = written(tmp_path)
    opened, _ = Journal.reopen(path)
    with opened:
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", refuse(code))
            with pytest.raises(VisitError, match=advice):
                opened.append(Reply("x", "y"))
        assert (read(path).events, read(path).damage) == (EVENTS, "")
        opened.append(Reply("power_lamp", "steady"))
    assert read(path).events == (*EVENTS, Reply("power_lamp", "steady"))


def test_the_rest_of_a_half_written_line_is_cut_off_before_the_next(tmp_path: Path) -> None:
    with Journal.create(tmp_path, NOON) as journal:
        journal.append(EVENTS[0])
        with journal.path.open("ab") as other:
            other.write(b'{"n":2,"at')
        journal.append(EVENTS[1])
    assert read(journal.path).events == EVENTS[:2]


def test_a_raw_write_that_takes_only_a_part_is_finished(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Slow(io.FileIO):
        def write(self, data: memoryview) -> int:  # type: ignore[override]
            return super().write(data[:7])

    monkeypatch.setattr(module, "locked", lambda path, new: Slow(path, "xb" if new else "ab"))
    with Journal.create(tmp_path, NOON) as journal:
        for event in EVENTS:
            journal.append(event)
    assert read(journal.path).events == EVENTS


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(folder)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("needs the right to mount a small disk")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_really_full_disk_keeps_every_earlier_answer_and_recovers(tiny_disk: Path) -> None:
    kept: list[Event] = [EVENTS[0]]
    filler = tiny_disk / "filler"
    filler.write_bytes(b"x" * 4096)
    with Journal.create(tiny_disk, NOON) as journal:
        journal.append(EVENTS[0])
        with pytest.raises(VisitError, match=r"could not be saved in .*No space left on device; free some space"):
            for _ in range(1000):
                journal.append(Reply("x", "y" * 300))
                kept.append(Reply("x", "y" * 300))
        assert read(journal.path).events == tuple(kept)
        assert read(journal.path).damage == ""
        filler.unlink()
        journal.append(EVENTS[1])
    assert read(journal.path).events == (*kept, EVENTS[1])


def test_a_place_that_cannot_hold_visits_is_named_with_what_to_do(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.touch()
    with pytest.raises(VisitError, match=r"cannot write to .*--visits FOLDER"):
        Journal.create(blocked / "visits", NOON)


def test_a_visit_of_a_later_version_is_refused_and_left_whole(tmp_path: Path) -> None:
    with Journal.create(tmp_path, datetime(2026, 1, 2)) as journal:
        journal.append(Begin(Setup(), "ghost_opening"))
        path = journal.path
    later = path.read_bytes().replace(b'"v":1', b'"v":2')
    plain = json.loads(later)
    plain["sum"] = seal(plain)
    path.write_text(json.dumps(plain) + "\n")
    before = path.read_bytes()
    for attempt in (read, Journal.reopen):
        with pytest.raises(VisitError, match="later version"):
            attempt(path)
    assert path.read_bytes() == before
