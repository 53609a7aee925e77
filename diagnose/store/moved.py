"""A visit under another name, put aside, or brought back: its pictures always move with it.

The pictures go first: whatever moment the power goes off at, the same command once more carries the move through.
"""

import os
import re
from contextlib import suppress
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.store.atomic import sync_folder
from diagnose.store.locking import locked
from diagnose.store.photos import folder_of
from diagnose.words import say

ASIDE = ".deleted"  # within the folder of visits, in no list
TIME = re.compile(r"(\d{8}-\d{6}(?:-\d+)?)(?:_.*)?")  # when the visit began comes first: lists keep their order
LONGEST = 60


def name_with(stem: str, words: str) -> str:
    """The visit's name with these words behind its time; none with ''. Raises VisitError."""
    if words and not re.fullmatch(rf"[\w-]{{1,{LONGEST}}}", words):
        raise VisitError(say("store.name_wrong", name=words, most=LONGEST))
    began = TIME.fullmatch(stem)
    return "_".join(filter(None, (began[1] if began else stem, words)))


def words_of(stem: str) -> str:
    """What somebody called the visit; '' where nobody did."""
    began = TIME.fullmatch(stem)
    return stem[len(began[1]) + 1 :] if began else ""


def rename(path: Path, words: str) -> Path:
    """Where the visit is then. Raises VisitError, also while it is open elsewhere."""
    return _move(path, path.with_name(f"{name_with(path.stem, words)}.visit"))


def put_aside(path: Path) -> Path:
    """Out of every list, and whole. Raises VisitError."""
    try:
        (path.parent / ASIDE).mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise VisitError(say("store.not_moved", path=path, why=error.strerror)) from error
    return _move(path, path.parent / ASIDE / path.name)


def aside(folder: Path) -> list[str]:
    """Names of the visits that can be brought back."""
    return sorted(p.stem for p in (folder / ASIDE).glob("*.visit"))


def deleted(folder: Path, name: str) -> Path:
    """Where a deleted visit lies. Raises VisitError."""
    if name not in aside(folder):
        raise VisitError(say("store.none_deleted", name=name))
    return folder / ASIDE / f"{name}.visit"


def bring_back(folder: Path, name: str) -> Path:
    """Raises VisitError, also where another visit has its name now."""
    path = _move(deleted(folder, name), folder / f"{name}.visit")
    with suppress(OSError):
        os.utime(path)  # so that whoever watches the folder takes it for changed
    return path


def _move(old: Path, new: Path) -> Path:
    if old == new:
        return new
    if new.exists():
        raise VisitError(say("store.name_taken", name=new.stem))
    try:
        with locked(old):  # nobody is writing to it
            if folder_of(old).is_dir():
                folder_of(old).rename(folder_of(new))
            old.rename(new)
        for folder in {old.parent, new.parent}:
            sync_folder(folder)
    except OSError as error:
        raise VisitError(say("store.not_moved", path=old, why=error.strerror)) from error
    return new
