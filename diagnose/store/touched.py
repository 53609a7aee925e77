"""Which visits of a folder were written to last: their names in that order, whatever any clock said.

One line each time another visit is written to than before. What cannot be noted is not: no answer waits for it.
"""

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.store.limited import plain_file

NAME = ".touched"
MOST = 1_000_000  # bytes that are read, from the end: some 50,000 changes from one visit to another
_LONGEST = 300


def touch(path: Path) -> None:
    """Note that this visit was written to."""
    name, log = os.fsencode(path.stem), path.with_name(NAME)
    with suppress(OSError, VisitError):
        if b"\n" not in name and _end(log, _LONGEST).rpartition(b"\n")[0].rpartition(b"\n")[2] != name:
            handle = plain_file(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT, links=False)
            with os.fdopen(handle, "ab", buffering=0) as file:
                file.write(name + b"\n")


def order(folder: Path) -> Mapping[str, int]:
    """Name of a visit -> its place, the highest the one that was written to last."""
    names = _end(folder / NAME, MOST).split(b"\n")
    return {os.fsdecode(name): place for place, name in enumerate(names) if name}


def _end(log: Path, most: int) -> bytes:
    """The last so many bytes; none where there is no such file."""
    try:
        with os.fdopen(plain_file(log, os.O_RDONLY, links=False), "rb") as file:
            file.seek(max(0, os.fstat(file.fileno()).st_size - most))
            return file.read(most)
    except (OSError, VisitError):
        return b""
