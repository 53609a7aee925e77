"""A history as JSON lines: a first line with the format, one line per visit, a last line with their number."""

import contextlib
import json
import os
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import IO

from pydantic import TypeAdapter, ValidationError

from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.words import say

FORMAT = "gate-diagnose-history-1"
MAX_LINE = 8_000_000
_RECORD = TypeAdapter(VisitRecord)


def write_lines(path: Path, records: Iterable[VisitRecord]) -> int:
    """All records into a new file that is there whole or not at all. Raises VisitError."""
    number = 0
    with new_file(path) as part, part.open("w", encoding="utf-8") as file:
        _line(file, {"format": FORMAT})
        for record in records:
            _line(file, asdict(record))
            number += 1
        _line(file, {"visits": number})
        file.flush()
        os.fsync(file.fileno())
    return number


def _line(file: IO[str], plain: object) -> None:
    file.write(json.dumps(plain, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n")


@contextlib.contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """A temporary file that takes the name `path` once the block is done. Raises VisitError, also if it exists."""
    if path.exists():
        raise VisitError(say("store.exists_already", path=path))
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    except (OSError, ValueError) as error:
        raise VisitError(say("store.cannot_write", path=path, why=_reason(error))) from error
    os.close(handle)
    part = Path(name)
    try:
        yield part
        part.replace(path)
    except OSError as error:
        raise VisitError(say("store.cannot_write", path=path, why=_reason(error))) from error
    finally:
        part.unlink(missing_ok=True)


def read_lines(path: Path) -> Iterator[VisitRecord]:
    """The records of a file. Raises VisitError at the first line that is not whole, and when the end is missing."""
    try:
        with path.open("rb") as file:
            yield from _records(path.name, file)
    except OSError as error:
        raise VisitError(say("store.cannot_read", path=path, why=_reason(error))) from error


def _records(name: str, file: IO[bytes]) -> Iterator[VisitRecord]:
    if _plain(file.readline(MAX_LINE)) != {"format": FORMAT}:
        raise VisitError(say("store.no_export", name=name, format=FORMAT))
    number = 0
    while line := file.readline(MAX_LINE):
        if _plain(line) == {"visits": number}:
            return
        number += 1
        try:
            yield _RECORD.validate_json(line, strict=True)
        except ValidationError as error:
            first = error.errors()[0]
            where = ".".join(str(part) for part in first["loc"])
            raise VisitError(f"{name}: line {number + 1}: {where}: {first['msg']}") from error
    raise VisitError(say("store.end_missing", name=name, number=number))


def _plain(line: bytes) -> object:
    try:
        return json.loads(line)
    except (ValueError, RecursionError):
        return None


def _reason(error: Exception) -> str:
    return (error.strerror if isinstance(error, OSError) else "") or str(error)
