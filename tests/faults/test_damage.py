"""Visit files that were cut, flipped, converted or filled with rubbish: read as far as they are whole."""

import fcntl
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import VisitError
from diagnose.session.events import Event, Reply, from_plain, to_plain
from diagnose.store import journal as module
from diagnose.store.journal import Journal, read
from diagnose.store.sealed import MAX_LINE
from diagnose.store.visits import find, listing
from tests.faults.limits import within
from tests.faults.test_crash_points import EVERY_KIND, NOON
from tests.store.sealed import seal


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with Journal.create(tmp_path, NOON) as journal:
        for event in EVERY_KIND:
            journal.append(event)
    return journal.path


def reopened(path: Path) -> tuple[Event, ...]:
    """What a resume makes of the file; what was damaged must be kept beside it, and the rest be whole."""
    before, judged = path.read_bytes(), read(path)
    if not judged.events and judged.broken:
        with pytest.raises(VisitError, match="nothing in it can be read"):
            Journal.reopen(path)
        assert (path.read_bytes(), list(path.parent.glob("*.damaged-*"))) == (before, [])
        return ()
    opened, found = Journal.reopen(path)
    opened.close()
    assert found.events == judged.events
    assert (read(path).events, read(path).broken) == (found.events, False)
    copies = list(path.parent.glob("*.damaged-*"))
    assert [c.read_bytes() for c in copies] == ([before] if found.broken else [])
    for copy in copies:
        copy.unlink()
    return found.events


def test_a_file_cut_at_every_byte(path: Path) -> None:
    whole = path.read_bytes()
    for cut in range(len(whole) + 1):
        path.write_bytes(whole[:cut])
        events = reopened(path) if cut % 7 == 0 or cut == len(whole) else read(path).events
        complete = whole[:cut].count(b"\n")
        assert events == EVERY_KIND[: len(events)]
        assert complete <= len(events) <= complete + 1
    assert events == EVERY_KIND


def but(lost: int) -> tuple[Event, ...]:
    """Every event but one; the opening is repeated later, so that one is never lost."""
    return tuple(e for n, e in enumerate(EVERY_KIND) if n != lost or not n)


def test_a_bit_flipped_in_every_byte_costs_at_most_the_line_it_is_in(path: Path) -> None:
    """One in the first line left nothing of the visit, and one in the middle half of it."""
    whole = path.read_bytes()
    for at in range(len(whole)):
        spoiled = bytearray(whole)
        spoiled[at] ^= 1 << at % 8
        path.write_bytes(spoiled)
        found = read(path)
        assert found.damage or found.events == EVERY_KIND, at
        assert found.events in (but(whole[:at].count(b"\n")), EVERY_KIND), at


def lines_of(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


@pytest.mark.parametrize("missing", range(len(EVERY_KIND)))
def test_a_line_that_is_missing_or_twice(path: Path, missing: int) -> None:
    lines = lines_of(path)
    path.write_bytes(b"".join(lines[:missing] + lines[missing + 1 :]))
    last = missing == len(lines) - 1  # nothing tells of what never came
    assert ("missing" in read(path).damage) == (missing > 0 and not last)
    assert ("the opening of the visit was taken from" in read(path).damage) == (not missing)
    assert reopened(path) == but(missing)
    path.write_bytes(b"".join([*lines[: missing + 1], *lines[missing:]]))
    assert f"line {missing + 2} stands there twice" in read(path).damage
    assert reopened(path) == EVERY_KIND


def test_line_ends_of_another_system_harm_nothing(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert reopened(path) == EVERY_KIND
    assert read(path).damage == ""


@pytest.mark.parametrize(
    "rubbish",
    [
        b"\xef\xbb\xbf",
        b"\xff\xfe",
        b"\0" * 4096,
        bytes(range(256)),
        b"\n",
        b"{" * 50_000,
        b'{"a":' * 50_000,
        b'{"at":"' * 50_000,
        b"9" * 50_000,
        b"x" * 1_500_000,
        b'{"n":' + b"9" * 5000 + b"}\n",
        b'{"n":NaN,"n":1e999}\n',
        b'"\\ud800"\n',
    ],
    ids=lambda b: repr(b[:8]),
)
def test_rubbish_before_between_and_after(path: Path, rubbish: bytes) -> None:
    lines = lines_of(path)
    for kept in (0, 5, len(lines)):
        path.write_bytes(b"".join([*lines[:kept], rubbish, *lines[kept:]]))
        with within(2):
            assert f"{kept + 1} " in read(path).damage
        assert reopened(path) == EVERY_KIND


def test_an_editor_that_rewrote_a_line_of_plausible_json_is_found_out(path: Path) -> None:
    lines = lines_of(path)
    for number, line in enumerate(lines):
        plain = json.loads(line)
        for name in ("v", "n", "at", "event", "sum"):
            changed = {k: v for k, v in plain.items() if k != name}
            path.write_bytes(b"".join([*lines[:number], json.dumps(changed).encode() + b"\n", *lines[number + 1 :]]))
            assert read(path).events == but(number)


def test_what_is_missing_is_said_also_after_the_file_was_mended(path: Path) -> None:
    """It was said once, and the record of the visit then read as if nothing had been."""
    lines = lines_of(path)
    path.write_bytes(b"".join([*lines[:4], b"#", *lines[5:]]))
    opened, found = Journal.reopen(path)
    with opened:
        opened.append(Reply("power_lamp", "steady"))
    assert f"is kept beside it as {path.stem}.damaged-" in found.says(path.name)
    assert found.says(path.name).startswith(f"{path.name}: line 5 is damaged (")
    after = read(path)
    told = f"{path.name}: entry 5 is missing; {len(EVERY_KIND)} entries are whole and are used."
    assert after.says(path.name) == told
    assert after.events == (*but(4), Reply("power_lamp", "steady"))
    again, _ = Journal.reopen(path)
    again.close()
    assert len(list(path.parent.glob("*.damaged-*"))) == 1


def test_the_number_of_an_entry_is_never_taken_by_another_one(path: Path) -> None:
    """A line that was put in later must not replace what was answered."""
    lines = lines_of(path)
    other = json.loads(lines[1]) | {"event": to_plain(Reply("anyone_touched", "somebody"))}
    path.write_bytes(b"".join([*lines, json.dumps({**other, "sum": seal(other)}).encode(), b"\n"]))
    assert read(path).events == EVERY_KIND
    assert f"line {len(lines) + 1} has the number of an earlier one and is left out" in read(path).damage


@pytest.mark.parametrize("what", ["link", "dangling", "pipe", "folder", "device"])
def test_what_is_no_file_of_its_own_is_refused_at_once_and_left_alone(path: Path, what: str) -> None:
    """Going on with a link emptied the file behind it, and a pipe hung the list of visits and the history."""
    whole, odd = path.read_bytes()[:-9], path.with_name("20270101-000000.visit")
    path.write_bytes(whole)
    match what:
        case "link":
            odd.symlink_to(path)
        case "dangling":
            odd.symlink_to(path.with_name("none"))
        case "pipe":
            os.mkfifo(odd)
        case "folder":
            odd.mkdir()
        case "device":
            odd.symlink_to("/dev/zero")
    uses: tuple[Callable[[Path], object], ...] = (read, Journal.reopen, lambda p: read(find(p.parent, p.stem)))
    for use in uses:
        with within(2), pytest.raises(VisitError, match=r"is a link, a pipe or a device|Is a directory"):
            use(odd)
    with within(2):
        told = {v.name: v.damage for v in listing(path.parent)}
    assert told.keys() == {odd.stem, path.stem} and told[odd.stem]
    assert path.read_bytes() == whole and not path.with_name("none").exists()


def test_a_file_that_was_mended_by_another_program_meanwhile_is_not_written_to(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its answers would have gone into the copy that is kept, which nobody reads."""
    real = fcntl.flock
    whole = path.read_bytes()

    def late(file: Any, how: int) -> None:
        path.rename(path.with_suffix(".kept"))
        path.write_bytes(whole)
        real(file, how)

    monkeypatch.setattr(fcntl, "flock", late)
    with pytest.raises(VisitError, match="open in another window"):
        Journal.reopen(path)


@pytest.mark.parametrize(
    "at", ["now", "", "2026-01-01", "2026-01-01T00:00:00", "0001-01-01T00:00:00+14:00", "9" * 99]
)
def test_a_sealed_line_without_a_usable_time_is_damage(path: Path, at: str) -> None:
    """It went on to the history and the record, which could do nothing with it."""
    plain = json.loads(lines_of(path)[0]) | {"at": at}
    plain["sum"] = seal(plain)
    path.write_text(json.dumps(plain) + "\n")
    assert "line 1 is damaged" in read(path).damage


def test_what_is_too_long_to_be_read_again_is_not_written(path: Path) -> None:
    """A pasted megabyte made the visit larger than what is ever read, and with it every answer was lost."""
    before = path.read_bytes()
    opened, _ = Journal.reopen(path)
    with opened:
        with pytest.raises(VisitError, match="too long to be kept"):
            opened.append(Reply("x", "y" * MAX_LINE))
        assert path.read_bytes() == before
        opened.append(Reply("x", "y"))
    assert read(path).events == (*EVERY_KIND, Reply("x", "y"))


def test_a_visit_stops_before_it_is_larger_than_what_can_be_read(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MAX_BYTES", path.stat().st_size + 1000)
    opened, _ = Journal.reopen(path)
    with opened, pytest.raises(VisitError, match="start a new visit"):
        for _ in range(100):
            opened.append(Reply("x", "y"))
    found = read(path)
    assert found.damage == ""
    assert len(found.events) > len(EVERY_KIND)


def test_events_of_every_kind_survive_their_plain_form() -> None:
    assert tuple(from_plain(json.loads(json.dumps(to_plain(e)))) for e in EVERY_KIND) == EVERY_KIND


def test_the_last_visit_is_not_the_empty_file_of_a_start_that_was_cut_off(path: Path) -> None:
    (path.parent / "20270101-000000.visit").touch()
    assert find(path.parent, "last") == path
    assert [v.name for v in listing(path.parent)] == ["20270101-000000", path.stem]


HOLDER = """
import sys, time
from pathlib import Path
from diagnose.store.journal import Journal
held = Journal.reopen(Path(sys.argv[1]))
print("held", flush=True)
time.sleep(60)
"""


def test_the_lock_of_a_process_that_was_killed_is_gone_with_it(path: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", HOLDER, str(path)], stdout=subprocess.PIPE) as holder:
        try:
            assert holder.stdout and holder.stdout.readline() == b"held\n"
            with pytest.raises(VisitError, match="open in another window; close that one first"):
                Journal.reopen(path)
        finally:
            holder.kill()
    assert reopened(path) == EVERY_KIND
