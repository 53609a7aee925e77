"""Files that appear whole or not at all."""

import contextlib
import errno
import fcntl
import os
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

from diagnose.errors import VisitError
from diagnose.words import say

_NO_LINKS = (errno.EPERM, errno.EOPNOTSUPP, errno.EMLINK, errno.ENOSYS)
PRIVATE, SHARED = 0o600, 0o666
"""Who may read a new file, before the umask: its owner, or whoever it is handed to."""


def replace_file(path: Path, data: bytes, mode: int = PRIVATE) -> None:
    """The new content whole, or the old content. Raises OSError; the folder must exist.

    What is no file - a pipe, a device - is written to, never replaced.
    """
    path = path.resolve()
    if path.exists() and not path.is_file():
        path.write_bytes(data)
        return
    part = path.parent / f".{uuid4().hex}.part"
    try:
        with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Force to disk which files are in a folder. Raises OSError."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def name_new(part: Path, path: Path) -> None:
    """The file under a name that nothing has. Raises FileExistsError, OSError; then it is where it was."""
    if not _linked(part, path):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, PRIVATE))
        part.replace(path)
    with contextlib.suppress(OSError):  # it has its name; the other one is only not needed any more
        part.unlink(missing_ok=True)


def keep_as(path: Path, kept: Path) -> None:
    """The file as it is under a second name, where it stays when another takes the first. Raises OSError."""
    try:
        if not _linked(path, kept):
            replace_file(kept, path.read_bytes())
        sync_folder(kept.parent)
    except FileExistsError:  # it was kept before, under a name made from what is in it
        return


def _linked(path: Path, name: Path) -> bool:
    """False on a disk that has no second names."""
    try:
        os.link(path, name, follow_symlinks=False)
    except OSError as error:
        if error.errno in _NO_LINKS:
            return False
        raise
    return True


def give_file(path: Path, data: bytes, option: str, force: bool = False) -> None:
    """A file for people, whole or not at all; another one in its place only with `force`, and never an open visit.

    The same again changes nothing. Raises VisitError, naming the `option` that chooses another place.
    """
    try:
        if _there(path) and path.read_bytes() == data:
            return
        with _not_open(path) if _there(path) else contextlib.nullcontext():
            if _there(path) and not force:
                raise VisitError(say("store.there_already", path=path, option=option))
            replace_file(path, data, SHARED)
    except OSError as error:
        raise VisitError(say("store.not_written_there", path=path, why=error.strerror, option=option)) from error


def require_free(path: Path, option: str, force: bool) -> None:
    """Before a long work: raises VisitError where `give_file` would refuse its result."""
    if _there(path) and not force:
        raise VisitError(say("store.there_already", path=path, option=option))


def _there(path: Path) -> bool:
    """A file with something in it, not a pipe or a device, which are only written to."""
    return path.is_file()


@contextlib.contextmanager
def _not_open(path: Path) -> Iterator[None]:
    """The file for this program alone, where it is a visit. Raises VisitError when it is open elsewhere."""
    if path.suffix != ".visit":
        yield
        return
    with path.open("rb") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise VisitError(say("store.open_elsewhere", name=path.name)) from error
        yield
