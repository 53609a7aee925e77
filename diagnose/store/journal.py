"""One visit = one append-only text file of JSON lines, each sealed by its own checksum and fsynced: see `sealed`.

Exercises of practice and drafts of profiles are kept in the same way: `Journal` is the `SealedFile` of visits.

A file is never cut or written over: what is damaged is kept as it is, and what is whole in it is written anew
beside it, under the name of the visit.
"""

import contextlib
import errno
import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from io import FileIO
from pathlib import Path
from typing import Any, ClassVar, Generic, Self, cast
from uuid import uuid4

from diagnose.errors import VisitError
from diagnose.session.events import Event
from diagnose.store.atomic import keep_as, name_new, sync_folder
from diagnose.store.clock import since_start
from diagnose.store.limited import limited_bytes
from diagnose.store.limits import MAX_BYTES, require_bounded
from diagnose.store.locking import locked
from diagnose.store.naming import BEGUN, free, tidy
from diagnose.store.recover import Recovered, RecoveredFile, recovered, recovered_lines
from diagnose.store.sealed import MAX_LINE, VERSION, VISIT, E, LineKind, opening_plain, written
from diagnose.store.touched import touch
from diagnose.words import say

_FULL = (errno.ENOSPC, errno.EDQUOT)
REPEATED_EACH = 10  # every so many lines, and in the second, the first one is repeated


def read(path: Path) -> Recovered:
    """Everything in the file that has a valid seal. Raises VisitError only when the file itself cannot be used."""
    return recovered(_bytes_of(path))


def _bytes_of(path: Path) -> bytes:
    """What is no file of its own - a link, a pipe, a device, a folder - is refused at once."""
    try:
        return limited_bytes(path, MAX_BYTES, say("store.a_visit_file"), links=False)
    except OSError as error:
        raise VisitError(say("store.visit_not_read", name=path.name, why=error.strerror)) from error


class SealedFile(Generic[E]):
    """Appends events to one file; each is on disk before `append` returns. One writer at a time.

    A new one has no name on disk until its first event is in it: a start that was cut off leaves no visit.
    """

    kind: ClassVar[LineKind[Any]]
    suffix: ClassVar[str]

    def __init__(self, path: Path, file: FileIO) -> None:
        self.path = path
        self._file = file
        self._part: Path | None = None  # where the file is as long as it has no name
        self._events: list[E] = []
        self._last = 0
        self._size = 0  # what is good in the file; anything after it is the rest of a failed write
        self._opening: dict[str, Any] | None = None

    @classmethod
    def found_in(cls, data: bytes) -> RecoveredFile[E]:
        """What is whole in the bytes of such a file. Raises VisitError where there is more than may be."""
        return recovered_lines(data, cast("LineKind[E]", cls.kind))

    def require_room_for(self, events: Iterable[E], last: int) -> None:
        """Raises VisitError where the file may not hold so much."""

    def _touched(self) -> None:
        """Somebody may keep in mind which file was written to last."""

    @classmethod
    def create(cls, folder: Path, now: datetime) -> Self:
        """A new file, to be named after the time. Raises VisitError when the folder is not writable."""
        with _explained(folder):
            folder.mkdir(parents=True, exist_ok=True)
            tidy(folder)
            return cls._begun(free(folder / f"{now:%Y%m%d-%H%M%S}{cls.suffix}"))

    @classmethod
    def _begun(cls, path: Path) -> Self:
        part = path.with_name(f".{uuid4().hex}{BEGUN}")
        journal = cls(path, locked(part, new=True))
        journal._part = part
        return journal

    @classmethod
    def copied(cls, folder: Path, now: datetime, found: RecoveredFile[E], *more: E) -> Self:
        """A new file that begins with what was found in another one: with all of it, or there is none.

        Numbers stay what they were: what is missing there is missing here, and said; so is what was cut off at its
        end. Raises VisitError.
        """
        return cls.create(folder, now)._filled(found, more)

    @classmethod
    def begun_at(cls, path: Path, *events: E) -> Self:
        """A new file of this name that begins with all of these, or there is none. Raises VisitError."""
        with _explained(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            tidy(path.parent)
            return cls._begun(path)._filled(RecoveredFile((), (), ""), events)

    def _filled(self, found: RecoveredFile[E], more: Iterable[E]) -> Self:
        try:
            self._take_up(found)
            self._last += found.cut
            for event in more:
                self._add(event, named=False)
            with self._said_if_failed():
                self._publish()
        except BaseException:
            self.close()
            raise
        self._touched()
        return self

    @classmethod
    def reopen(cls, path: Path) -> tuple[Self, RecoveredFile[E]]:
        """Continue a file. What is damaged is kept beside it, and what is whole written anew in its place."""
        _bytes_of(path)  # a file that is not there must not be made
        with _explained(path):
            journal = cls(path, locked(path))
            try:
                data = _bytes_of(path)
                found = cls.found_in(data)
                if found.broken:
                    return journal._mended(found, data)
                journal._go_on(found, data)
                return journal, found
            except BaseException:
                journal.close()
                raise

    def _go_on(self, found: RecoveredFile[E], data: bytes) -> None:
        self._know(found)
        self._size = len(data)
        if data and not data.endswith(b"\n"):  # whole, but for its end
            self._write(b"\n")

    def _know(self, found: RecoveredFile[E]) -> None:
        self._events, self._last = list(found.events), found.last
        if found.events and isinstance(found.events[0], self.kind.opening):
            self._opening = opening_plain(self.kind.plain(found.events[0]), found.times[0])

    def _take_up(self, found: RecoveredFile[E]) -> None:
        """The lines as they were written."""
        with self._said_if_failed():
            self._write(b"".join(line + b"\n" for line in found.lines))
        self._know(found)

    def _mended(self, found: RecoveredFile[E], data: bytes) -> tuple[Self, RecoveredFile[E]]:
        """The original under another name, untouched; under its own name the lines that are whole, in order."""
        if not found.events:
            raise VisitError(found.says(self.path.name))
        kept = self.path.with_suffix(f".damaged-{hashlib.sha256(data).hexdigest()[:8]}")
        keep_as(self.path, kept)
        anew = self._begun(self.path)
        try:
            anew._take_up(found)
            assert anew._part
            anew._part.replace(self.path)
            anew._part = None
            sync_folder(self.path.parent)
        except BaseException:
            anew.close()
            raise
        self.close()
        return anew, replace(found, kept=kept.name)

    def append(self, event: E, now: datetime | None = None) -> None:
        """Write one event and force it to disk. Raises VisitError and leaves the file as it was when that fails."""
        self._add(event, now)
        self._touched()

    def _add(self, event: E, now: datetime | None = None, named: bool = True) -> None:
        self.require_room_for((*self._events, event), self._last + 1)
        at = (now or datetime.now(UTC)).isoformat(timespec="seconds")
        opening = self._opening if self._last else opening_plain(self.kind.plain(event), at)
        line = self._line(event, at, {} if now else since_start())
        self._require_room(line)
        with self._said_if_failed():
            self._write(line)
            if named:
                self._publish()
        self._events.append(event)
        self._last, self._opening = self._last + 1, opening

    def _line(self, event: E, at: str, clock: Mapping[str, Any]) -> bytes:
        number = self._last + 1
        plain: dict[str, Any] = {"v": VERSION, "n": number, "at": at, "event": self.kind.plain(event), **clock}
        if self._opening and (number == 2 or number % REPEATED_EACH == 0):
            plain["opening"] = self._opening
        return written(plain) + b"\n"

    def _publish(self) -> None:
        """Give a new file its name, once there is something in it. Raises OSError."""
        while self._part:
            with contextlib.suppress(FileExistsError):
                name_new(self._part, self.path)
                self._part = None
                sync_folder(self.path.parent)
                return
            self.path = self._other_name()

    def _other_name(self) -> Path:
        """Where to, when somebody else has taken the name. Raises VisitError."""
        return free(self.path)

    @contextlib.contextmanager
    def _said_if_failed(self) -> Iterator[None]:
        before = self._size
        try:
            yield
        except OSError as error:
            self._size = before
            with contextlib.suppress(OSError):
                self._file.truncate(before)
            advice = say("store.free_space") if error.errno in _FULL else say("store.look_at_disk")
            raise VisitError(say("store.not_saved", path=self.path, why=error.strerror, advice=advice)) from error

    def _require_room(self, line: bytes) -> None:
        """What is written must be readable again."""
        if len(line) > MAX_LINE:
            raise VisitError(say("store.too_long", bytes=f"{len(line):,}", most=f"{MAX_LINE:,}"))
        if self._size + len(line) > MAX_BYTES:
            raise VisitError(say("store.visit_full", name=self.path.name, most=f"{MAX_BYTES:,}"))

    def _write(self, line: bytes) -> None:
        """All of the line on disk, or OSError. A raw write to a full disk may take only a part of it, silently."""
        if os.fstat(self._file.fileno()).st_size != self._size:
            self._file.truncate(self._size)
        rest = memoryview(line)
        while rest:
            rest = rest[self._file.write(rest) :]
        os.fsync(self._file.fileno())
        self._size += len(line)

    def close(self) -> None:
        self._file.close()
        if self._part:
            self._part.unlink(missing_ok=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class Journal(SealedFile[Event]):
    """One visit."""

    kind = VISIT
    suffix = ".visit"

    @classmethod
    def found_in(cls, data: bytes) -> Recovered:
        return recovered(data)

    def require_room_for(self, events: Iterable[Event], last: int) -> None:
        require_bounded(events, last)

    def _touched(self) -> None:
        touch(self.path)


@contextlib.contextmanager
def _explained(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise VisitError(say("store.visit_not_written", path=path, why=error.strerror)) from error
