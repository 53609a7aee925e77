"""Log files as they come -> lines of text: encodings, JSON, spreadsheets; and what a file is that is none of them."""

import codecs
import io
import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import BinaryIO

from diagnose.store.spreadsheet import sheet_rows
from diagnose.triplog.cells import UNIT
from diagnose.triplog.records import TripLogError
from diagnose.words import say

MAX_BYTES = 500_000_000  # some ten million rows
HEAD = 131_072
_MANY_NULS = 0.3
_FEW_NULS = 0.05
_LOOKED_AT = 200
_SHEET = b"PK\x03\x04"
_OTHERS = {
    b"\xd0\xcf\x11\xe0": "store.log_is_old_sheet",
    b"%PDF": "store.log_is_pdf",
    b"\x1f\x8b": "store.log_is_packed",
    b"7z\xbc\xaf": "store.log_is_packed",
    b"Rar!": "store.log_is_packed",
    b"BZh": "store.log_is_packed",
    b"\xfd7zXZ": "store.log_is_packed",
    b"SQLite format 3": "store.log_is_database",
    b"\x89PNG": "store.log_is_picture",
    b"\xff\xd8\xff": "store.log_is_picture",
}
Done = Callable[[float], None]
"""Told the share of the file that was read, 0 to 1."""


def _as_windows(error: UnicodeError) -> tuple[str, int]:
    """Bytes that are no UTF-8 as the commonest other code page has them."""
    if not isinstance(error, UnicodeDecodeError):
        raise error
    wrong = error.object[error.start : error.end]
    return wrong.decode("cp1252", "replace"), error.end


codecs.register_error("log_as_windows", _as_windows)


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Errors of the system as sentences."""
    try:
        yield
    except OSError as error:
        raise TripLogError(say("store.cannot_read", path=path, why=error.strerror)) from error


def head_of(path: Path) -> bytes:
    """The first bytes of a file that is not too large and can be a log. Raises TripLogError."""
    with explained(path), path.open("rb") as file:
        if path.stat().st_size > MAX_BYTES:
            raise TripLogError(say("store.log_too_large", name=path.name, most=f"{MAX_BYTES:,}"))
        head = file.read(HEAD)
    for sign, says in _OTHERS.items():
        if head.startswith(sign):
            raise TripLogError(say(says, name=path.name))
    return head


def encoding_of(head: bytes) -> str:
    """From the byte-order mark; without one UTF-16 where every other byte is zero, else UTF-8."""
    if head.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        return "utf-32"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = max(1, len(head) // 2)
    if odd > _MANY_NULS * half and even < _FEW_NULS * half:
        return "utf-16-le"
    if even > _MANY_NULS * half and odd < _FEW_NULS * half:
        return "utf-16-be"
    return "utf-8-sig"


def spoken_of(head: bytes) -> str:
    """What is to be said of an encoding: nothing for UTF-8."""
    encoding = encoding_of(head)
    if encoding != "utf-8-sig":
        return say("store.log_encoding", encoding=encoding.upper())
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return say("store.log_windows")
    return ""


def opened(raw: BinaryIO, head: bytes) -> io.TextIOWrapper:
    """The file as text. A wrong byte harms nothing but its own letter."""
    encoding = encoding_of(head)
    wrong = "log_as_windows" if encoding == "utf-8-sig" else "replace"
    return io.TextIOWrapper(raw, encoding=encoding, errors=wrong)


def as_table(path: Path, head: bytes) -> list[str] | None:
    """All lines of a spreadsheet or of JSON, with UNIT between cells and the names first; None for any other text."""
    if head.startswith(_SHEET):
        return list(_sheet(path, path.stat().st_mtime_ns))
    text = head.decode(encoding_of(head), "replace").lstrip("\ufeff \t\r\n")
    if text.startswith(("{", "[{", "[\n", "[\r\n", "[ ")) and '"' in text:
        return list(_json(path, path.stat().st_mtime_ns))
    return None


@lru_cache(2)
def _sheet(path: Path, changed: int) -> tuple[str, ...]:
    del changed  # a file that was written anew is read anew
    return tuple(_line(row) for row in sheet_rows(path))


def _line(cells: Iterable[str]) -> str:
    return UNIT.join(" ".join(cell.replace(UNIT, " ").split()) for cell in cells) + "\n"


@lru_cache(2)
def _json(path: Path, changed: int) -> tuple[str, ...]:
    """One object a line, or one list of objects; what is no object becomes a row without cells, so that it is
    counted among the rows that could not be used."""
    del changed
    with path.open("rb") as raw:
        head = raw.read(HEAD)
        raw.seek(0)
        text = opened(raw, head).read()
    found = _objects(text)
    names = list(dict.fromkeys(name for row in found[:_LOOKED_AT] for name in row))
    if not names:
        raise TripLogError(say("store.log_no_objects", name=path.name))
    return (_line(names), *(_line(row.get(name, "") for name in names) for row in found))


def _objects(text: str) -> list[dict[str, str]]:
    try:
        whole = json.loads(text)
        rows = whole if isinstance(whole, list) else [whole]
    except ValueError:
        rows = [_parsed(line) for line in text.splitlines() if line.strip()]
    return [_flat(row) for row in rows]


def _parsed(line: str) -> object:
    try:
        return json.loads(line.strip().rstrip(","))
    except (ValueError, RecursionError):
        return None


def _flat(row: object, prefix: str = "") -> dict[str, str]:
    """An object within an object gives names with a point."""
    found: dict[str, str] = {}
    for name, value in row.items() if isinstance(row, dict) else ():
        if isinstance(value, dict) and prefix.count(".") < 3:
            found |= _flat(value, f"{prefix}{name}.")
        elif value is not None and not isinstance(value, list):
            found[f"{prefix}{name}"] = str(value)
    return found
