"""Which visits of a folder were written to last: their names in that order, whatever any clock said.

One line each time another visit is written to than before: the time, in UTC, and the name. What cannot be noted is
not: no answer waits for it.
"""

import os
import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.store.limited import plain_file

NAME = ".touched"
MOST = 1_000_000  # bytes that are read, from the end: some 30,000 changes from one visit to another
_LONGEST = 400
_LINE = re.compile(rb"([0-9]{8}-[0-9]{6}) (.+)", re.DOTALL)


def touch(path: Path) -> None:
    """Note that this visit was written to."""
    name, log = os.fsencode(path.stem), path.with_name(NAME)
    with suppress(OSError, VisitError):
        end = _end(log, _LONGEST)
        if b"\n" in name or end.endswith(b" " + name + b"\n"):
            return
        line = f"{datetime.now(UTC):%Y%m%d-%H%M%S} ".encode() + name + b"\n"
        handle = plain_file(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT, links=False)
        with os.fdopen(handle, "ab", buffering=0) as file:
            file.write(line if not end or end.endswith(b"\n") else b"\n" + line)


def noted(folder: Path) -> Iterator[tuple[str, str]]:
    """(name, time) of every line, the one that was written to last at the end."""
    for line in _end(folder / NAME, MOST).split(b"\n"):
        if found := _LINE.fullmatch(line):
            yield os.fsdecode(found[2]), found[1].decode()


def _end(log: Path, most: int) -> bytes:
    """The last so many bytes; none where there is no such file."""
    try:
        with os.fdopen(plain_file(log, os.O_RDONLY, links=False), "rb") as file:
            file.seek(max(0, os.fstat(file.fileno()).st_size - most))
            return file.read(most)
    except (OSError, VisitError):
        return b""
