"""Everything of this machine in one file, and back: visits with their pictures, history, records, progress, settings.

The file is a zip with a list of what is in it and of what each content must be. Nothing is brought back before all of
it has been looked at, and nothing that is there is ever written over.
"""

import contextlib
import hashlib
import json
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from diagnose.errors import VisitError
from diagnose.store.atomic import PRIVATE, replace_file, sync_folder
from diagnose.store.history.history import History
from diagnose.store.history.lines import new_file
from diagnose.words import say

SINGLE = ("learned", "settings")  # one file each; a folder may have a dot in its name
FORMAT = "gate-diagnose-backup-1"
LIST, HISTORY = "contents.json", "history.jsonl"
MOST_FILES, MOST_BYTES = 200_000, 50_000_000  # of one file; a history may be larger
MOST_HISTORY = 4_000_000_000
SKIPPED = (".part",)  # files that are being written


@dataclass(frozen=True, slots=True)
class Brought:
    """`new` files came; `same` were there already; `kept` are there with another content and were left alone."""

    new: int
    same: int
    kept: tuple[str, ...]
    visits: int  # of the history, new or newer


def backup(target: Path, folders: Mapping[str, Path], history: History) -> int:
    """Write the file; how many files are in it. `folders` by the name under which each is kept. Raises VisitError."""
    listed: dict[str, str] = {}
    with new_file(target) as part, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, path in _files(folders):
            data = path.read_bytes()
            listed[name] = _sum(data)
            packed.writestr(name, data)
        with tempfile.TemporaryDirectory() as folder:
            lines = Path(folder) / HISTORY
            history.export(lines)
            packed.write(lines, HISTORY)
            listed[HISTORY] = _sum_of(lines)
        packed.writestr(LIST, json.dumps({"format": FORMAT, "files": listed}))
    return len(listed)


def restore(source: Path, folders: Mapping[str, Path], history: History) -> Brought:
    """Bring back what is not here. Raises VisitError at a file that is not whole, before anything is written."""
    try:
        with zipfile.ZipFile(source) as packed:
            listed = _listed(packed, source, folders)
            with tempfile.TemporaryDirectory() as folder:
                lines = Path(packed.extract(HISTORY, folder))
                new, same, kept = _put(packed, listed, folders)
                return Brought(new, same, tuple(kept), history.import_(lines))
    except (OSError, zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise VisitError(say("store.no_backup", path=source, why=error)) from error


def _files(folders: Mapping[str, Path]) -> Iterator[tuple[str, Path]]:
    """Plain files only: what a link leads to is somebody else's."""
    for area, folder in folders.items():
        if folder.is_file():
            yield f"{area}/{folder.name}", folder
        for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
            if path.is_file() and not path.is_symlink() and path.suffix not in SKIPPED:
                yield f"{area}/{path.relative_to(folder).as_posix()}", path


def _listed(packed: zipfile.ZipFile, source: Path, folders: Mapping[str, Path]) -> list[str]:
    """Names of the files, each looked at: its place, its size and its content."""
    sizes = {info.filename: info.file_size for info in packed.infolist()}
    too_large = [n for n, size in sizes.items() if size > (MOST_HISTORY if n == HISTORY else MOST_BYTES)]
    files = _contents(packed) if LIST in sizes and not too_large else None
    if files is None or len(files) > MOST_FILES or {*files, LIST} != {*sizes} or HISTORY not in files:
        raise VisitError(say("store.no_backup", path=source, why=say("store.backup_list")))
    for name, wanted in files.items():
        if name != HISTORY and _place(name, folders) is None:
            raise VisitError(say("store.no_backup", path=source, why=say("store.backup_place", name=repr(name))))
        if _sum_in(packed, name) != wanted:
            raise VisitError(say("store.no_backup", path=source, why=say("store.backup_damaged", name=name)))
    return [name for name in files if name != HISTORY]


def _contents(packed: zipfile.ZipFile) -> dict[str, str] | None:
    with contextlib.suppress(ValueError, RecursionError):
        plain = json.loads(packed.read(LIST))
        if isinstance(plain, dict) and plain.get("format") == FORMAT and isinstance(plain.get("files"), dict):
            return {str(name): str(total) for name, total in plain["files"].items()}
    return None


def _place(name: str, folders: Mapping[str, Path]) -> Path | None:
    """Where a file belongs; None for one that would lie anywhere else."""
    area, *rest = PurePosixPath(name).parts
    if area not in folders or not rest or ".." in rest or PurePosixPath(name).is_absolute() or "\0" in name:
        return None
    if area in SINGLE:
        return folders[area] if len(rest) == 1 else None
    return folders[area].joinpath(*rest)


def _put(packed: zipfile.ZipFile, names: list[str], folders: Mapping[str, Path]) -> tuple[int, int, list[str]]:
    new, same, kept = 0, 0, list[str]()
    for name in names:
        path, data = _place(name, folders), packed.read(name)
        assert path is not None
        if not path.exists() and not path.is_symlink():
            path.parent.mkdir(parents=True, exist_ok=True)
            replace_file(path, data, PRIVATE)
            sync_folder(path.parent)
            new += 1
        elif path.is_file() and path.read_bytes() == data:
            same += 1
        else:
            kept.append(str(path))
    return new, same, kept


def _sum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _sum_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _sum_in(packed: zipfile.ZipFile, name: str) -> str:
    total = hashlib.sha256()
    with packed.open(name) as file:
        while piece := file.read(1 << 20):
            total.update(piece)
    return total.hexdigest()
