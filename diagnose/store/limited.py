"""Files read up to a limit, so that nothing a person points at - a disk image, a device - is read to its end."""

from pathlib import Path

from diagnose.errors import VisitError
from diagnose.kb.files import no_text
from diagnose.words import say


def limited_bytes(path: Path, most: int, what: str) -> bytes:
    """The content. Raises VisitError when there are more than `most` bytes, and OSError."""
    with path.open("rb") as file:
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
