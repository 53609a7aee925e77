"""Names of files that are called after the time they were begun at."""

import contextlib
import os
import time
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.store.locking import locked
from diagnose.words import say

BEGUN = ".begun"  # how a file ends that has no name yet
_ABANDONED_S = 3600.0  # after which such a file is of nobody any more
_STEM = len("20260301-120000")


def free(path: Path) -> Path:
    """The path, or the next one with a number that is not there yet. Raises VisitError."""
    stem = path.stem[:_STEM]
    for attempt in range(1000):
        other = path.with_name(f"{stem}{f'-{attempt}' if attempt else ''}{path.suffix}")
        if not os.path.lexists(other):
            return other
    raise VisitError(say("store.no_free_name", folder=path.parent))


def tidy(folder: Path) -> None:
    """Away with what starts left behind that were cut off long ago."""
    for part in folder.glob(f".*{BEGUN}"):
        with contextlib.suppress(OSError, VisitError):
            if time.time() - part.stat().st_mtime > _ABANDONED_S:
                with locked(part):
                    part.unlink()
