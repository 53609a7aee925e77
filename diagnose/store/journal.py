"""One visit = one append-only text file of JSON lines, each sealed by its own checksum and fsynced.

Line: {"v": 1, "n": 3, "at": "2026-11-25T10:00:00+00:00", "event": {...}, "sum": "<first 12 hex of sha256>"}
A crash can only damage the last line; whatever is damaged is reported and everything before it is kept.
"""

import contextlib
import errno
import fcntl
import hashlib
import json
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from io import FileIO
from pathlib import Path
from typing import Any

from diagnose.errors import VisitError
from diagnose.session.events import Event, from_plain, to_plain
from diagnose.store.atomic import sync_folder
from diagnose.store.limited import limited_bytes
from diagnose.words import say

VERSION = 1  # of the line format; a higher one was written by a later program
MAX_BYTES = 8_000_000
MAX_LINE = 200_000
_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True, slots=True)
class Recovered:
    """Events that could be read, when each came, and what was wrong with the rest ('' when nothing was)."""

    events: tuple[Event, ...]
    times: tuple[str, ...]
    damage: str


def read(path: Path) -> Recovered:
    """Everything readable up to the first damage. Raises VisitError only when the file itself cannot be read."""
    data = _bytes_of(path)
    events: list[Event] = []
    times: list[str] = []
    for number, line in enumerate(data.split(b"\n")[: _line_count(data)], start=1):
        try:
            event, at = _line(line, number)
        except NewerVisit:
            raise
        except (VisitError, ValueError, KeyError, TypeError, OverflowError, RecursionError) as error:
            return Recovered(tuple(events), tuple(times), _damage(number, data, error))
        events.append(event)
        times.append(at)
    return Recovered(tuple(events), tuple(times), "")


def _bytes_of(path: Path) -> bytes:
    try:
        return limited_bytes(path, MAX_BYTES, say("store.a_visit_file"))
    except OSError as error:
        raise VisitError(say("store.visit_not_read", name=path.name, why=error.strerror)) from error


def _line_count(data: bytes) -> int:
    return data.count(b"\n") + (0 if data.endswith(b"\n") or not data else 1)


def _damage(number: int, data: bytes, error: Exception) -> str:
    half = number == _line_count(data) and not data.endswith(b"\n")
    why = str(error)[:120] if isinstance(error, VisitError) else say("store.no_line")
    return say("store.half_written" if half else "store.damaged", line=number, why=why, n=number - 1)


def _line(line: bytes, number: int) -> tuple[Event, str]:
    plain = json.loads(line.decode("utf-8"))
    if not isinstance(plain, dict) or plain.get("n") != number:
        raise VisitError(say("store.wrong_number"))
    if plain.get("sum") != _seal(plain):
        raise VisitError(say("store.wrong_checksum"))
    if isinstance(version := plain.get("v", VERSION), int) and version > VERSION:
        raise NewerVisit(say("store.later_version", version=version, here=VERSION))
    return from_plain(plain["event"]), _time(plain["at"])


def _time(at: str) -> str:
    """Raises VisitError, ValueError, TypeError and OverflowError at what is no moment."""
    moment = datetime.fromisoformat(at)
    if moment.utcoffset() is None:
        raise VisitError(say("store.time_without_offset"))
    moment.astimezone(UTC)
    return at


def _seal(plain: dict[str, Any]) -> str:
    body = {k: v for k, v in plain.items() if k != "sum"}
    text = json.dumps(body, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:12]


class VisitBusy(VisitError):
    """Another window or program is writing to the visit just now."""


class NewerVisit(VisitError):
    """The file is whole, but this program is too old for it: never taken for damage, never cut off."""


class Journal:
    """Appends events to one visit file; each is on disk before `append` returns. One writer at a time."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file = locked(path)
        self._lines = 0
        self._size = 0  # what is good in the file; anything after it is the rest of a failed write

    @classmethod
    def create(cls, folder: Path, now: datetime) -> "Journal":
        """A new, empty visit file named after the time. Raises VisitError when the folder is not writable."""
        with _explained(folder):
            folder.mkdir(parents=True, exist_ok=True)
            for attempt in range(1000):
                name = now.strftime("%Y%m%d-%H%M%S") + (f"-{attempt}" if attempt else "")
                with contextlib.suppress(FileExistsError):
                    path = folder / f"{name}.visit"
                    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
                    sync_folder(folder)
                    return cls(path)
        raise VisitError(say("store.no_free_name", folder=folder))

    @classmethod
    def copied(cls, folder: Path, now: datetime, events: Iterable[tuple[Event, datetime | None]]) -> "Journal":
        """A new visit file that begins with these events: with all of them, or there is none. Raises VisitError."""
        with cls.create(folder, now) as named:
            part = named.path.with_name(f".{named.path.stem}.part")
            journal = cls(part)
            try:
                for event, at in events:
                    journal.append(event, at)
                with _explained(folder):
                    part.replace(named.path)
                    sync_folder(folder)
            except BaseException:
                journal.close()
                part.unlink(missing_ok=True)
                named.path.unlink(missing_ok=True)
                raise
            journal.path = named.path
            return journal

    @classmethod
    def reopen(cls, path: Path) -> tuple["Journal", Recovered]:
        """Continue a visit. A damaged end is cut off after a copy of the whole file was put beside it."""
        _bytes_of(path)  # a file that is not there must not be made
        with _explained(path):
            journal = cls(path)
            try:
                return journal, journal._recover()
            except BaseException:
                journal.close()
                raise

    def _recover(self) -> Recovered:
        found, data = read(self.path), _bytes_of(self.path)
        if found.damage:
            copy = self.path.with_suffix(f".damaged-{hashlib.sha256(data).hexdigest()[:8]}")
            with copy.open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        self._lines = len(found.events)
        self._size = min(len(data), sum(len(line) + 1 for line in data.split(b"\n")[: self._lines]))
        self._file.truncate(self._size)
        if self._lines and data[self._size - 1 : self._size] != b"\n":  # whole, but for its end
            self._write(b"\n")
        return found

    def append(self, event: Event, now: datetime | None = None) -> None:
        """Write one event and force it to disk. Raises VisitError and leaves the file as it was when that fails."""
        at = (now or datetime.now(UTC)).isoformat(timespec="seconds")
        plain: dict[str, Any] = {"v": VERSION, "n": self._lines + 1, "at": at, "event": to_plain(event)}
        plain["sum"] = _seal(plain)
        line = json.dumps(plain, sort_keys=True, ensure_ascii=True, separators=(",", ":")).encode() + b"\n"
        self._require_room(line)
        try:
            self._write(line)
        except OSError as error:
            with contextlib.suppress(OSError):
                self._file.truncate(self._size)
            advice = say("store.free_space") if error.errno in _FULL else say("store.look_at_disk")
            raise VisitError(say("store.not_saved", path=self.path, why=error.strerror, advice=advice)) from error
        self._lines += 1

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

    def __enter__(self) -> "Journal":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def locked(path: Path) -> FileIO:
    """The file, open for appending and for this program alone until it is closed. Raises VisitBusy, OSError."""
    file = path.open("ab", buffering=0)
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        file.close()
        if isinstance(error, BlockingIOError):
            raise VisitBusy(say("store.open_elsewhere", name=path.name)) from error
        raise
    return file


@contextlib.contextmanager
def _explained(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise VisitError(say("store.visit_not_written", path=path, why=error.strerror)) from error
