"""A file for this program alone."""

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from io import FileIO
from pathlib import Path
from typing import TypeVar

from diagnose.errors import VisitError
from diagnose.store.limited import plain_file
from diagnose.words import say

_PATIENCE_S, _PAUSE_S = 10.0, 0.05
T = TypeVar("T")


class VisitBusy(VisitError):
    """Another window or program is writing to the visit just now."""


def locked(path: Path, new: bool = False) -> FileIO:
    """The file, open for appending and for this program alone until it is closed. Raises VisitError, OSError.

    It is still the file of this name once it is locked: another one may have been put in its place meanwhile.
    """
    flags = os.O_WRONLY | os.O_APPEND | (os.O_CREAT | os.O_EXCL if new else 0)
    file = FileIO(plain_file(path, flags, links=False), "ab")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if not os.path.samestat(os.fstat(file.fileno()), os.lstat(path)):
            raise BlockingIOError
    except OSError as error:
        file.close()
        if isinstance(error, BlockingIOError):
            raise VisitBusy(say("store.open_elsewhere", name=path.name)) from error
        raise
    return file


@contextmanager
def in_turn(path: Path) -> Iterator[None]:
    """One program at a time for what this file stands for; it stays there. Raises VisitError, OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(mode=0o600)
    with patiently(lambda: locked(path)):
        yield


def patiently(opened: Callable[[], T]) -> T:
    """What others write for a moment only is waited for. Raises VisitError, as `opened` does."""
    until = time.monotonic() + _PATIENCE_S
    while time.monotonic() < until:
        with suppress(VisitBusy):
            return opened()
        time.sleep(_PAUSE_S)
    return opened()
