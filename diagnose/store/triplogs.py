"""Trip logs and weather tables on disk, and the clock of a time zone."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from re import fullmatch
from zoneinfo import ZoneInfo

import numpy as np

from diagnose.store.log_text import HEAD, MAX_BYTES, Done, as_table, encoding_of, explained, head_of, opened
from diagnose.triplog.clock import fixed
from diagnose.triplog.records import Clock, TripLogError
from diagnose.words import say

__all__ = ["MAX_BYTES", "clock_of", "lines_of", "sample"]

SAMPLE_LINES = 100
_PLACES = 20
_PIECE = 16_384


def sample(path: Path) -> list[str]:
    """Whole lines from the beginning, from places in between, and from the end. Raises TripLogError."""
    head = head_of(path)
    with explained(path):
        table = as_table(path, head)
        if table is not None:
            return [line.rstrip("\n") for line in _spread(table)]
        lines = head.decode(encoding_of(head), "log_as_windows" if _is_utf_8(head) else "replace").splitlines()
        if len(head) < HEAD:
            return lines if len(lines) < 3 or _ended(head) else lines[:-1]
        return lines[:SAMPLE_LINES] + _between(path, head)


def _is_utf_8(head: bytes) -> bool:
    return encoding_of(head) == "utf-8-sig"


def _ended(head: bytes) -> bool:
    """Whether the last line ends as a line does; a row that broke off must not be asked about."""
    return head.rstrip(b"\0").endswith((b"\n", b"\r"))


def _spread(lines: list[str]) -> list[str]:
    most = SAMPLE_LINES * _PLACES
    return lines[:SAMPLE_LINES] + lines[SAMPLE_LINES :: max(1, len(lines) // most)]


def _between(path: Path, head: bytes) -> list[str]:
    """Lines from places all over a long file."""
    encoding, found, size = encoding_of(head), list[str](), path.stat().st_size
    plain = {"utf-16": "utf-16-be" if head.startswith(b"\xfe\xff") else "utf-16-le"}.get(encoding, encoding)
    if encoding == "utf-32":
        return found
    with path.open("rb") as file:
        for place in range(1, _PLACES + 1):
            file.seek(max(0, size * place // _PLACES - _PIECE) // 2 * 2)
            piece = file.read(_PIECE).decode("utf-8" if _is_utf_8(head) else plain, "replace")
            found += piece.splitlines()[1:-1][:SAMPLE_LINES]
    return found


def lines_of(path: Path, done: Done = lambda _: None) -> Iterator[str]:
    """Every line of a file, one by one. Raises TripLogError."""
    head = head_of(path)
    with explained(path):
        table = as_table(path, head)
        if table is not None:
            yield from table
            return
        with path.open("rb", buffering=1 << 20) as raw:
            size = max(path.stat().st_size, 1)
            for number, line in enumerate(opened(raw, head)):
                if number % 20_000 == 0:
                    done(raw.tell() / size)
                yield line.replace("\0", "") if "\0" in line else line
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
