"""Trip logs and weather tables on disk, and the clock of a time zone."""

import codecs
import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from re import fullmatch
from zoneinfo import ZoneInfo

import numpy as np

from diagnose.triplog.clock import fixed
from diagnose.triplog.records import Clock, TripLogError
from diagnose.words import say

MAX_BYTES = 500_000_000  # some ten million rows
SAMPLE_LINES = 100
_PLACES = 20
_PIECE = 16_384
Done = Callable[[float], None]
"""Told the share of the file that was read, 0 to 1."""


def _encoding(head: bytes) -> str:
    """From the byte-order mark; without one UTF-8, and bytes that are none show as �."""
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return "utf-8-sig"


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise TripLogError(say("store.cannot_read", path=path, why=error.strerror)) from error


def sample(path: Path) -> list[str]:
    """Whole lines from the beginning, from places in between, and from the end. Raises TripLogError."""
    with _explained(path), path.open("rb") as file:
        if path.stat().st_size > MAX_BYTES:
            raise TripLogError(say("store.log_too_large", name=path.name, most=f"{MAX_BYTES:,}"))
        head = file.read(_PIECE * 8)
        encoding = _encoding(head)
        lines = head.decode(encoding, "replace").splitlines()
        if len(head) < _PIECE * 8:
            return lines
        found = lines[:SAMPLE_LINES]
        if encoding == "utf-16":
            return found
        size = path.stat().st_size
        for place in range(1, _PLACES + 1):
            file.seek(max(0, size * place // _PLACES - _PIECE))
            found += file.read(_PIECE).decode("utf-8", "replace").splitlines()[1:-1][:SAMPLE_LINES]
        return found


def lines_of(path: Path, done: Done = lambda _: None) -> Iterator[str]:
    """Every line of a file, one by one. Raises TripLogError."""
    with _explained(path), path.open("rb", buffering=1 << 20) as raw:
        size = max(path.stat().st_size, 1)
        encoding = _encoding(raw.read(4))
        raw.seek(0)
        text = io.TextIOWrapper(raw, encoding=encoding, errors="replace")
        for number, line in enumerate(text):
            if number % 20_000 == 0:
                done(raw.tell() / size)
            yield line
        done(1.0)


def clock_of(name: str, begin: float, end: float) -> Clock:
    """The clock of a zone (as 'UTC', '+01:00', or a name of the tz database) from `begin` to `end`, seconds.

    Raises TripLogError for a zone that is not known.
    """
    if found := fullmatch(r"(?:UTC|GMT)?([+-])(\d{1,2}):?(\d{2})?", name.strip()):
        sign, hours, minutes = found.groups()
        ahead = (int(hours) * 3600 + int(minutes or 0) * 60) * (-1 if sign == "-" else 1)
        return fixed(f"UTC{sign}{int(hours):02d}:{minutes or '00'}", float(ahead))
    try:
        zone = ZoneInfo(name.strip())
    except (ValueError, OSError, KeyError) as error:  # a name that is no path inside the database, or not in it
        says = say("store.no_zone", name=repr(name))
        raise TripLogError(says) from error
    return _stepped(name.strip(), zone, begin - 2 * 86400, end + 2 * 86400)


def _stepped(name: str, zone: ZoneInfo, begin: float, end: float) -> Clock:
    """The zone as a step table: offsets looked up daily, each change narrowed down to the second."""
    since, ahead = [-np.inf], [_ahead(zone, begin)]
    at = begin
    while at < end:
        if _ahead(zone, at + 86400) != ahead[-1]:
            low, high = at, at + 86400
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if _ahead(zone, middle) == ahead[-1] else (low, middle)
            since.append(float(np.ceil(high)))
            ahead.append(_ahead(zone, at + 86400))
        at += 86400
    return Clock(name, np.array(since), np.array(ahead))


def _ahead(zone: ZoneInfo, utc: float) -> float:
    offset = (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=utc)).astimezone(zone).utcoffset()
    return offset.total_seconds() if offset else 0.0
