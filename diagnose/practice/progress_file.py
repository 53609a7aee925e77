"""Progress files: one JSON file per trainee in the practice folder, replaced whole or not at all."""

import contextlib
import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path

from platformdirs import user_data_path

from diagnose.errors import DiagnoseError, VisitError
from diagnose.practice.progress import VERSION, Progress, WorkedExercise, from_plain, to_plain
from diagnose.store.atomic import replace_file
from diagnose.store.limited import limited_text
from diagnose.store.locking import in_turn
from diagnose.words import say

MAX_BYTES = 2_000_000
MOST_NAME = 60
_TURN = ".turn"


def practice_folder(chosen: str = "") -> Path:
    """Where progress is kept: the chosen folder, else the user's data folder."""
    return Path(chosen) if chosen else user_data_path("gate-diagnose") / "practice"


def file_of(folder: Path, trainee: str) -> Path:
    """The trainee's file. Names that differ only in what a file name cannot say still get files of their own.

    Raises VisitError for a name that is empty, too long or not printable.
    """
    name = " ".join(trainee.split())
    if not name or len(name) > MOST_NAME or not name.isprintable():
        raise VisitError(say("practice.bad_name", most=MOST_NAME))
    plain = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:40]
    return folder / f"{plain or 'trainee'}-{hashlib.sha256(name.casefold().encode()).hexdigest()[:8]}.json"


def load(folder: Path, trainee: str) -> tuple[Progress, str]:
    """(progress, what was wrong or ''). A damaged file is set aside under another name, never overwritten.

    Raises VisitError when the file cannot be read, or belongs to a later program.
    """
    path = file_of(folder, trainee)
    fresh = Progress(" ".join(trainee.split()))
    if not path.exists():
        return fresh, ""
    try:
        return _read(path), ""
    except _NoDamage as error:
        raise VisitError(str(error)) from error
    except DiagnoseError as error:
        aside = _set_aside(path)
        return fresh, say("practice.set_aside", file=path.name, why=error, kept=aside.name)


class _NoDamage(DiagnoseError):
    """Written by a later program, or not to be read just now: never set aside."""


def _read(path: Path) -> Progress:
    try:
        plain = json.loads(limited_text(path, MAX_BYTES, say("practice.a_progress")))
    except OSError as error:
        raise _NoDamage(say("store.cannot_read", path=path, why=error.strerror)) from error
    except (ValueError, RecursionError) as error:
        raise DiagnoseError(say("practice.not_json", why=str(error)[:80])) from error
    version = plain.get("version") if isinstance(plain, dict) else None
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        raise _NoDamage(say("practice.later_version", file=path.name, version=version))
    return from_plain(plain)


def _set_aside(path: Path) -> Path:
    for number in range(1000):
        aside = path.with_suffix(f".damaged{number or ''}")
        if not aside.exists():
            with _explained(path):
                path.rename(aside)
            return aside
    raise VisitError(say("practice.too_many_damaged", path=path))


def save(folder: Path, progress: Progress) -> Path:
    """Write the file, whole or not at all. Raises VisitError."""
    path = file_of(folder, progress.trainee)
    text = json.dumps(to_plain(progress), ensure_ascii=False, indent=1, allow_nan=False)
    with _explained(path):
        folder.mkdir(parents=True, exist_ok=True)
        replace_file(path, text.encode())
    return path


def add(folder: Path, trainee: str, done: WorkedExercise) -> Progress:
    """The progress with one more exercise, on disk; what another window added meanwhile stays. Raises VisitError."""
    with _explained(folder), in_turn(folder / _TURN):
        known, _ = load(folder, trainee)
        after = known.after(done)
        save(folder, after)
        return after


def everybody(folder: Path) -> tuple[list[Progress], list[str]]:
    """All trainees by name, and what was wrong with files that could not be used; nothing is changed."""
    found, wrong = list[Progress](), list[str]()
    for path in sorted(folder.glob("*.json")):
        try:
            found.append(_read(path))
        except DiagnoseError as error:
            wrong.append(f"{path.name}: {error}")
    return sorted(found, key=lambda p: p.trainee.casefold()), wrong


@contextlib.contextmanager
def _explained(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise VisitError(say("store.not_written_there", path=path, why=error.strerror, option="--folder")) from error
