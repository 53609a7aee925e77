"""One line of a visit file, or of a file kept like one:

    {"v": 1, "n": 3, "at": "2026-11-25T10:00:00+00:00", "event": {...}, "sum": "<12 hex>"}

`sum` is the first 12 hex digits of the SHA-256 of the rest. Other fields may stand beside these, under the same seal:
`opening` repeats the first line, so that a visit still knows who and where it is when that line is lost; `boot` and
`on` are a clock that nobody can set, so that a record can tell when the other one was.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Generic, TypeVar

from diagnose.errors import VisitError
from diagnose.session.events import Begin, Event, from_plain, to_plain
from diagnose.words import say

VERSION = 1  # of the line format; a higher one was written by a later program
MAX_LINE = 200_000
MARK = b'{"at":"'  # how every line begins as it is written here; in a text its quotes would be escaped
UNREADABLE = (VisitError, ValueError, KeyError, TypeError, OverflowError, RecursionError)
Up = tuple[str, int]
E = TypeVar("E")


class NewerVisit(VisitError):
    """The file is whole, but this program is too old for it: never taken for damage, never mended."""


@dataclass(frozen=True, slots=True)
class LineKind(Generic[E]):
    """What the lines of a file say: visits' events, or a trainee's moves. `opening`: what the first line must be."""

    read: Callable[[Any], E]
    plain: Callable[[E], dict[str, Any]]
    opening: type


VISIT: LineKind[Event] = LineKind(from_plain, to_plain, Begin)


@dataclass(frozen=True, slots=True)
class SealedLine(Generic[E]):
    """What one line says; `text` is the line as it is written, without its end."""

    number: int
    event: E
    at: str
    text: bytes
    opening: dict[str, Any] | None = None
    up: Up | None = None


def written(plain: dict[str, Any]) -> bytes:
    """The line with its seal, without its end."""
    return _text({**plain, "sum": _seal(plain)}).encode()


def read_line(text: bytes, kind: LineKind[E]) -> SealedLine[E]:
    """One whole line and nothing else. Raises NewerVisit and what is in UNREADABLE."""
    _require_short(text)
    return _line(json.loads(text.decode("utf-8"), object_pairs_hook=_each_once), kind)


def read_piece(text: bytes, kind: LineKind[E]) -> SealedLine[E]:
    """The line that the text begins with, whatever follows. Raises as `read_line`."""
    _require_short(text)
    decoder = json.JSONDecoder(object_pairs_hook=_each_once)
    return _line(decoder.raw_decode(text.decode("utf-8", "replace"))[0], kind)


def _each_once(fields: list[tuple[str, Any]]) -> dict[str, Any]:
    """Two halves of lines that ran together may name a field twice: what it says is then anybody's guess."""
    plain = dict(fields)
    if len(plain) < len(fields):
        raise VisitError(say("store.no_line"))
    return plain


def _require_short(text: bytes) -> None:
    if len(text) > MAX_LINE:
        raise VisitError(say("store.line_too_long", most=f"{MAX_LINE:,}"))


def _line(plain: Any, kind: LineKind[E]) -> SealedLine[E]:
    number = plain.get("n") if isinstance(plain, dict) else None
    if not isinstance(number, int) or isinstance(number, bool) or number < 1:
        raise VisitError(say("store.wrong_number"))
    if plain.get("sum") != _seal(plain):
        raise VisitError(say("store.wrong_checksum"))
    if isinstance(version := plain.get("v", VERSION), int) and version > VERSION:
        raise NewerVisit(say("store.later_version", version=version, here=VERSION))
    event, at = kind.read(plain["event"]), _time(plain["at"])
    return SealedLine(number, event, at, _text(plain).encode(), _opening(plain, kind), _up(plain))


def opening_of(line: SealedLine[E], kind: LineKind[E]) -> SealedLine[E] | None:
    """The first line of the visit, as this one repeats it."""
    if not line.opening:
        return None
    first = {"v": VERSION, "n": 1, "at": line.opening["since"], "event": line.opening["begin"]}
    return read_line(written(first), kind)


def opening_plain(event: dict[str, Any], at: str) -> dict[str, Any]:
    """The first line for others to repeat; nothing in it looks like the beginning of a line."""
    return {"begin": event, "since": at}


def _opening(plain: dict[str, Any], kind: LineKind[E]) -> dict[str, Any] | None:
    """The event of the first line and when it came, as `opening_plain` has them, where they can be used."""
    told = plain.get("opening")
    try:
        usable = (
            isinstance(told, dict) and _time(told["since"]) and isinstance(kind.read(told["begin"]), kind.opening)
        )
    except UNREADABLE:
        return None
    return told if usable else None


def _up(plain: dict[str, Any]) -> Up | None:
    boot, up = plain.get("boot"), plain.get("on")
    return (boot, up) if isinstance(boot, str) and isinstance(up, int) and abs(up) < 1e12 else None


def _time(at: str) -> str:
    """Raises VisitError, ValueError, TypeError and OverflowError at what is no moment."""
    moment = datetime.fromisoformat(at)
    if moment.utcoffset() is None:
        raise VisitError(say("store.time_without_offset"))
    moment.astimezone(UTC)
    return at


def _seal(plain: dict[str, Any]) -> str:
    return hashlib.sha256(_text({k: v for k, v in plain.items() if k != "sum"}).encode()).hexdigest()[:12]


def _text(plain: dict[str, Any]) -> str:
    return json.dumps(plain, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
