"""Pictures on disk: each taken in harmless, in a folder beside the visit file, and named by what is in it.

A picture is drawn anew, smaller and as a JPEG, so that nothing of the file that was given is kept but what it shows:
no place, no time, no name, and nothing that hides behind a picture. It is whole on disk before the visit tells of it.
"""

import errno
import hashlib
import os
import stat
import threading
import warnings
from collections.abc import Iterable
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import VisitError
from diagnose.session.events import Event, Pictured
from diagnose.session.photos import is_name
from diagnose.store.atomic import PRIVATE, SHARED, replace_file, sync_folder
from diagnose.words import say

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES = 20_000_000  # of a file that is given
MOST_PIXELS = 52_000_000  # a camera of 50 million; one such picture takes up to 0.8 GB while it is read
LONGEST, SMALL = 1600, 800  # pixels of the longer side, kept and on paper
QUALITY = 80  # of a JPEG
FORMATS = ("JPEG", "PNG", "WEBP")  # nothing else is tried: every reader is one more that can be deceived
_ONE = threading.Lock()  # large pictures are read one at a time, whoever sends them


def given(path: Path) -> bytes:
    """What is in a file that a person named. Raises VisitError where that is no file, or too large a one."""
    try:
        data = _read(path)
    except (OSError, ValueError) as error:
        linked = isinstance(error, OSError) and error.errno == errno.ELOOP
        why = say("store.is_a_link") if linked else getattr(error, "strerror", "") or str(error)
        raise VisitError(say("store.cannot_read", path=path, why=why)) from error
    if data is None:
        raise VisitError(say("store.not_a_file", path=path))
    return data


def _read(path: Path) -> bytes | None:
    """The content, up to a byte more than is taken; None of what is no file. A pipe or a device is not waited for."""
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOFOLLOW | os.O_NOCTTY | os.O_CLOEXEC)
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        return None
    with os.fdopen(handle, "rb") as file:
        return file.read(MOST_BYTES + 1)


def made(data: bytes, longest: int = LONGEST) -> bytes:
    """The picture as it is kept. Raises VisitError, saying what to do, at anything that is none or is too large."""
    if len(data) > MOST_BYTES:
        raise VisitError(say("store.picture_too_large", most=f"{MOST_BYTES // 1_000_000}"))
    from PIL.Image import DecompressionBombError, DecompressionBombWarning  # late: most visits have no picture

    with _ONE, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of spoilt notes of the camera; people would read them beside a question
        warnings.simplefilter("error", DecompressionBombWarning)
        try:
            return _drawn(data, longest)
        except VisitError:
            raise
        except (DecompressionBombError, DecompressionBombWarning) as error:
            raise _too_many_pixels() from error
        except Exception as error:  # whatever the library trips over is the fault of the file
            raise VisitError(say("store.no_picture")) from error


def _drawn(data: bytes, longest: int) -> bytes:
    from PIL import Image

    with Image.open(BytesIO(data), formats=FORMATS) as opened:
        image: Image.Image = opened
        if image.width * image.height > MOST_PIXELS:  # told by its head, before any of it is unpacked
            raise _too_many_pixels()
        if image.mode in ("1", "P"):
            image = image.convert("RGBA")  # else it is scaled without being smoothed
        image.thumbnail((longest, longest))
        out = BytesIO()
        _flat(_upright(image)).save(out, "JPEG", quality=QUALITY)
        return out.getvalue()


def _upright(image: "Image") -> "Image":
    """As it was held; where what a camera noted cannot be read, as it is."""
    from PIL import ImageOps

    try:
        return ImageOps.exif_transpose(image)
    except Exception:
        return image


def _flat(image: "Image") -> "Image":
    """On a new white sheet, which carries nothing of what is noted in the file."""
    from PIL import Image

    flat = Image.new("RGB", image.size, "white")
    if image.has_transparency_data:
        over = image.convert("RGBA")
        flat.paste(over, mask=over.getchannel("A"))
    else:
        flat.paste(image.convert("RGB"))
    return flat


def _too_many_pixels() -> VisitError:
    return VisitError(say("store.too_many_pixels", most=f"{MOST_PIXELS // 1_000_000}"))


def name_of(picture: bytes) -> str:
    """What the file of a picture is called: the same picture has the same name wherever it is."""
    return f"{hashlib.sha256(picture).hexdigest()[:16]}.jpg"


def told_in(events: Iterable[Event]) -> tuple[str, ...]:
    """The names of the pictures that a visit tells of."""
    return tuple(event.name for event in events if isinstance(event, Pictured))


def folder_of(visit: Path) -> Path:
    """Where the pictures of a visit file are: beside it, under its name."""
    return visit.with_suffix(".photos")


def keep(visit: Path, picture: bytes, shared: bool = False) -> str:
    """On disk when this returns its name, to be told of in the visit only then. Raises VisitError."""
    folder, name = folder_of(visit), name_of(picture)
    try:
        if not folder.is_dir():
            folder.mkdir(mode=0o777 if shared else 0o700)
            sync_folder(folder.parent)
        replace_file(folder / name, picture, SHARED if shared else PRIVATE)
        sync_folder(folder)
    except OSError as error:
        raise VisitError(say("store.picture_not_saved", folder=folder, why=error.strerror)) from error
    return name


def kept(visit: Path, name: str) -> bytes | None:
    """The picture of this name; None where it is not there, or is not what it was."""
    if not is_name(name):
        return None
    try:
        data = _read(folder_of(visit) / name)
    except OSError:
        return None
    return data if data is not None and name_of(data) == name else None


def bring(source: Path, target: Path, names: tuple[str, ...], shared: bool = False) -> int:
    """Keep the pictures of one visit file beside another one, and tell how many: those that are there, and are as
    they are kept here. Raises VisitError."""
    found = (kept(source, name) for name in dict.fromkeys(names))
    return len([keep(target, picture, shared) for picture in found if picture and _ours(picture)])


def _ours(data: bytes) -> bool:
    """Whether this is a small JPEG without a camera's notes. Another's folder may hold anything."""
    from PIL import Image

    with _ONE, warnings.catch_warnings(), suppress(Exception):
        warnings.simplefilter("error")
        with Image.open(BytesIO(data), formats=FORMATS[:1]) as image:
            if max(image.size) <= LONGEST and not image.getexif():
                image.load()
                return True
    return False


def lacking(visit: Path, names: tuple[str, ...]) -> str:
    """What to say of pictures that are not beside the visit file; '' where all are."""
    gone = sum(kept(visit, name) is None for name in dict.fromkeys(names))
    return say("store.pictures_lacking", n=gone, folder=folder_of(visit)) if gone else ""


def small(visit: Path, names: tuple[str, ...]) -> dict[str, bytes]:
    """For paper: the pictures of these names that are there and can be read, made small."""
    found = {name: kept(visit, name) for name in names}
    return {name: drawn for name, data in found.items() if data and (drawn := _if_any(data))}


def _if_any(data: bytes) -> bytes:
    """Made small; b'' of what is no picture: the folder may have come from anybody."""
    try:
        return made(data, SMALL)
    except VisitError:
        return b""
