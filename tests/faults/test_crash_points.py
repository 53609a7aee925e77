"""A process that dies at each single step of writing, one after another: the file reopens with what was complete."""

import errno
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import cache
from io import FileIO
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Begin,
    Close,
    Complain,
    Conclude,
    Event,
    Proved,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.store import atomic, locking
from diagnose.store import journal as module
from diagnose.store.journal import Journal, read
from diagnose.store.recover import Recovered

NOON = datetime(2026, 3, 1, 12)
EVERY_KIND: tuple[Event, ...] = (
    Begin(Setup(profile={"site.supply_v": 24.0}), "ghost_opening", "öffnet von allein", "north gate", "d", "i"),
    Reply("anyone_touched", "nobody"),
    Reply("sup_volts_sensor", 9.8, sure=False, note="two\nlines"),
    Back(),
    Complain("stuck_open"),
    Conclude(),
    AskOn(),
    Repaired("laser_window_dirty", "wiped"),
    Proved(False, "still"),
    Repaired("laser_window_dirty"),
    Proved(True),
    AnotherFault(),
    Ticked("covers", "pass"),
    Close("left_out", "no part"),
    TakeOver(Setup(), "van 2"),
)
Step = Callable[[str], None]


class Watched(FileIO):
    """A file that tells before each step, and takes at most 40 bytes at a time, so that a line is many steps."""

    before: Step = staticmethod(lambda _: None)

    def write(self, data: Any) -> int:
        self.before("write")
        return super().write(memoryview(data)[:40])

    def truncate(self, size: int | None = None) -> int:
        self.before("truncate")
        return super().truncate(size)


@contextmanager
def watched(patch: pytest.MonkeyPatch, before: Step) -> Iterator[None]:
    """Journals whose every write, cut, sync and rename calls `before` first."""
    real_lock, real_sync, real_replace, real_link = locking.locked, os.fsync, Path.replace, os.link

    def locked(path: Path, new: bool = False) -> Watched:
        with real_lock(path, new) as held:
            file = Watched(os.dup(held.fileno()), "ab")
        file.before = before
        return file

    def fsync(handle: int) -> None:
        before("fsync")
        real_sync(handle)

    def replace(path: Path, target: Path) -> Path:
        before("replace")
        return real_replace(path, target)

    def link(source: Path, name: Path, **how: Any) -> None:
        before("link")
        real_link(source, name, **how)

    with patch.context() as inside:
        inside.setattr(module, "locked", locked)
        inside.setattr(os, "link", link)
        inside.setattr(os, "fsync", fsync)
        inside.setattr(Path, "replace", replace)
        yield


def dying_at(step: int) -> Step:
    """Kills this process before its step of this number."""
    left = [step]

    def before(_: str) -> None:
        if not left[0]:
            os._exit(9)
        left[0] -= 1

    return before


def forked(work: Callable[[], None]) -> int:
    """The exit code of the work done in a process of its own."""
    child = os.fork()
    if child == 0:
        try:
            work()
        except BaseException:
            os._exit(1)
        os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def visit_in(folder: Path) -> Path:
    (path,) = folder.glob("*.visit")
    return path


def test_a_process_that_dies_before_any_step_loses_nothing_it_said_was_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The child tells each saved event through a pipe; every step of the whole visit is tried as the last one."""
    step, code = 0, 9
    while code == 9:
        folder = tmp_path / str(step)
        told, tell = os.pipe()

        def work(folder: Path = folder, step: int = step, tell: int = tell) -> None:
            with watched(monkeypatch, dying_at(step)), Journal.create(folder, NOON) as journal:
                for event in EVERY_KIND:
                    journal.append(event)
                    os.write(tell, b".")

        code = forked(work)
        os.close(tell)
        with os.fdopen(told, "rb") as pipe:
            sure = len(pipe.read())
        if list(folder.glob("*.visit")):
            opened, found = Journal.reopen(visit_in(folder))
            with opened:
                assert sure <= len(found.events) <= sure + 1
                assert found.events == EVERY_KIND[: len(found.events)]
                opened.append(Reply("power_lamp", "steady"))
            assert read(visit_in(folder)).events[-1] == Reply("power_lamp", "steady")
        else:
            assert not sure
        step += 1
    assert code == 0
    assert step > 5 * len(EVERY_KIND)
    assert sure == len(EVERY_KIND)


def test_a_process_that_dies_while_it_mends_a_damaged_file_mends_it_the_next_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.create(tmp_path, NOON) as journal:
        for event in EVERY_KIND:
            journal.append(event)
    path, whole = journal.path, journal.path.read_bytes()
    spoiled = whole[: len(whole) * 2 // 3]
    kept = spoiled.count(b"\n")
    step, code = 0, 9
    while code == 9:
        for copy in tmp_path.glob("*.damaged-*"):
            copy.unlink()
        path.write_bytes(spoiled)

        def work(step: int = step) -> None:
            with watched(monkeypatch, dying_at(step)):
                Journal.reopen(path)[0].close()

        code = forked(work)
        opened, found = Journal.reopen(path)
        opened.close()
        assert found.events == EVERY_KIND[:kept]
        if found.damage or code == 0:
            assert [c.read_bytes() for c in tmp_path.glob("*.damaged-*")] == [spoiled]
        step += 1
    assert code == 0
    assert step > 10


def refusing_at(step: int, code: int) -> Step:
    """Every step from this number on fails, until told otherwise by `left[0] = -1`."""
    left = [step]

    def before(_: str) -> None:
        if not left[0]:
            raise OSError(code, os.strerror(code))
        left[0] -= 1

    return before


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS])
def test_a_disk_that_refuses_from_any_step_on_keeps_what_was_saved_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    step, refused = 0, True
    while refused:
        folder, refused, saved = tmp_path / f"{code}-{step}", False, 0
        folder.mkdir()
        try:
            with watched(monkeypatch, refusing_at(step, code)), Journal.create(folder, NOON) as journal:
                for event in EVERY_KIND[:4]:
                    journal.append(event)
                    saved += 1
        except VisitError as error:
            refused = True
            assert os.strerror(code) in str(error)
        events = read(visit_in(folder)).events if list(folder.glob("*.visit")) else ()
        assert events[:saved] == EVERY_KIND[:saved]
        assert len(events) <= saved + 1
        step += 1
    assert step > 20


@cache
def a_visit() -> Recovered:
    with tempfile.TemporaryDirectory() as folder, Journal.create(Path(folder), NOON) as journal:
        for event in EVERY_KIND[:-1]:
            journal.append(event)
        return read(journal.path)


def copy_in(folder: Path) -> None:
    Journal.copied(folder, NOON, a_visit(), EVERY_KIND[-1]).close()


def test_a_copy_of_a_visit_is_whole_or_not_there_when_its_process_dies(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_visit()
    found, step = list[int](), 0
    while not (tmp_path / str(step - 3) / "done").exists():
        folder = tmp_path / str(step)

        def work(folder: Path = folder, step: int = step) -> None:
            with watched(monkeypatch, dying_at(step)):
                copy_in(folder)
                (folder / "done").touch()

        assert forked(work) in (0, 9)
        found += [len(read(path).events) for path in folder.glob("*.visit")]
        step += 3
    assert set(found) == {len(EVERY_KIND)}  # it was an empty visit, 0 answers and open, when it died early
    assert len(found) < step / 3


def test_a_copy_of_a_visit_that_finds_no_room_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    a_visit()
    for number, fails in enumerate(["write", "link"]):
        folder = tmp_path / str(number)

        def before(what: str, fails: str = fails) -> None:
            if what == fails:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        with watched(monkeypatch, before), pytest.raises(VisitError, match="No space"):
            copy_in(folder)
        assert not list(folder.iterdir())


def test_a_file_replaced_is_the_old_or_the_new_one_and_a_refusal_leaves_no_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "kept.txt"
    path.write_bytes(b"old")
    for fails in ("fsync", "replace"):

        def before(what: str, fails: str = fails) -> None:
            if what == fails:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        with watched(monkeypatch, before), pytest.raises(OSError, match="No space"):
            atomic.replace_file(path, b"new")
        assert path.read_bytes() == b"old"
        assert list(tmp_path.iterdir()) == [path]
    atomic.replace_file(path, b"new")
    assert path.read_bytes() == b"new"


def test_what_is_no_file_is_written_to_and_a_link_stays_a_link(tmp_path: Path) -> None:
    link, target = tmp_path / "link", tmp_path / "target"
    target.write_bytes(b"old")
    link.symlink_to(target)
    atomic.replace_file(link, b"new")
    assert (link.is_symlink(), target.read_bytes()) == (True, b"new")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    atomic.replace_file(pipe, b"new")
    assert os.read(reader, 10) == b"new"
    assert pipe.is_fifo()
    os.close(reader)
