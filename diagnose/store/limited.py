"""Files read up to a limit, so that nothing a person points at - a disk image, a device - is read to its end."""

import errno
import os
import stat
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.kb.files import no_text
from diagnose.words import say


def limited_bytes(path: Path, most: int, what: str, links: bool = True) -> bytes:
    """The content. Raises VisitError when there are more than `most` bytes or it is no file, and OSError."""
    with os.fdopen(plain_file(path, os.O_RDONLY, links=links), "rb") as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise VisitError(say("store.too_large", name=path.name, most=f"{most:,}", what=what))
    return data


def limited_text(path: Path, most: int, what: str) -> str:
    """The content as UTF-8 with plain line ends. Raises VisitError and OSError."""
    data = limited_bytes(path, most, what)
    try:
        return data.decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        raise VisitError(no_text(path.name, error)) from error


def plain_file(path: Path, flags: int, mode: int = 0o600, links: bool = True) -> int:
    """A handle on a file; nothing else is opened, and none is waited for. Raises VisitError, OSError.

    `links` False: what only points to a file elsewhere is none either.
    """
    more = os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC | (0 if links else os.O_NOFOLLOW)
    try:
        handle = os.open(path, flags | more, mode)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.ENXIO):  # a link, or a pipe that nobody reads from
            raise VisitError(say("store.no_plain_file", name=path.name)) from error
        raise
    if stat.S_ISREG(os.fstat(handle).st_mode):
        return handle
    os.close(handle)
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    raise VisitError(say("store.no_plain_file", name=path.name))
