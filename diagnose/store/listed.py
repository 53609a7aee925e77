"""What the list of visits says of each file, kept beside them, so that only files that changed are read again.

It is nobody's only copy: where it is missing or damaged, or the folder cannot be written to, the files are read.
"""

import hashlib
import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from diagnose.errors import VisitError
from diagnose.store.atomic import replace_file
from diagnose.store.limited import limited_bytes

INDEX = ".listed"
FORMAT = 1
_MOST_BYTES = 100_000_000
_UNUSABLE = (OSError, VisitError, ValueError, KeyError, TypeError, AttributeError, RecursionError)


@dataclass(frozen=True, slots=True)
class Listed:
    """One line of the list of visits."""

    name: str
    began: str
    complaint: str
    site: str
    answers: int
    concluded: bool
    damage: str
    mended: tuple[str, ...] = ()  # causes whose repair was proved good


def state_of(path: Path) -> str:
    """Changes whenever the file does, also where somebody sets its time back; '' where it cannot be looked at."""
    with suppress(OSError):
        told = path.lstat()
        return f"{told.st_ino} {told.st_size} {told.st_mtime_ns} {told.st_ctime_ns}"
    return ""


def listed(folder: Path, paths: Sequence[Path], look: Callable[[Path], Listed]) -> list[Listed]:
    """What `look` finds in each of these files, or found when it was as it is now."""
    known, found, fresh = _kept(folder), dict[str, tuple[str, Listed]](), False
    for path in paths:
        state = state_of(path)
        before = known.get(path.name)
        if before and state and before[0] == state:
            found[path.name] = before
        else:
            found[path.name], fresh = (state, look(path)), True
    if fresh or len(found) < len(known):
        _keep(folder, found)
    return [found[path.name][1] for path in paths]


def _kept(folder: Path) -> dict[str, tuple[str, Listed]]:
    with suppress(*_UNUSABLE):
        seal, _, text = limited_bytes(folder / INDEX, _MOST_BYTES, INDEX, links=False).partition(b"\n")
        if seal.decode() == _seal(text):
            return {name: (state, _listed(plain)) for name, (state, plain) in json.loads(text).items()}
    return {}


def _listed(plain: dict[str, Any]) -> Listed:
    return Listed(**{**plain, "mended": tuple(plain["mended"])})


def _keep(folder: Path, found: dict[str, tuple[str, Listed]]) -> None:
    plain = {name: (state, asdict(one)) for name, (state, one) in found.items()}
    text = json.dumps(plain, separators=(",", ":")).encode()
    with suppress(OSError):
        replace_file(folder / INDEX, _seal(text).encode() + b"\n" + text)


def _seal(text: bytes) -> str:
    return f"{FORMAT} {hashlib.sha256(text).hexdigest()}"
