"""Dates and times as people and devices write them -> seconds on the clock that wrote them."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from diagnose.words import say

_TIME = r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s*(?:([AaPp])\.?[Mm]\.?)?\s*(?:(Z)|([+-]\d{2}):?(\d{2})?)?"
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DATE = {
    "ymd": r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})",
    "ymd8": r"(\d{4})(\d{2})(\d{2})",
    "dmy": r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})",
    "mdy": r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})",
    "dMy": r"(\d{1,2})[- ]([A-Za-z]{3})[A-Za-z]*[- ](\d{4}|\d{2})",
}
EPOCHS = {"seconds": 1.0, "milliseconds": 1e-3}
SERIAL = "serial"
SERIAL_ZERO = -25569.0 * 86400
"""Spreadsheets count days from 30 December 1899, so that 1 January 1970 is day 25569."""
FORMATS = (*_DATE, *EPOCHS, SERIAL)
FIRST_YEAR, LAST_YEAR = 2000, 2100
_EPOCH_RANGE_S = (946_684_800.0, 4_102_444_800.0)  # those two years


def format_says(format_: str) -> str:
    """How times of a format are written."""
    return say(f"triplog.format_{format_.casefold()}" if format_ != "dMy" else "triplog.format_letters")


@dataclass(slots=True)
class Stamps:
    """Reads times of one format. Days are worked out once and kept."""

    format: str
    _whole: re.Pattern[str] = field(init=False)
    _date: re.Pattern[str] = field(init=False)
    _days: dict[str, float | None] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        pattern = _DATE.get(self.format, r"(\d+)()()")
        self._date = re.compile(pattern)
        bare = re.sub(r"\((?!\?)", "(?:", pattern)
        self._whole = re.compile(rf"\s*({bare})(?:[T ,;]\s*|\s+){_TIME}\s*")

    def read(self, text: str) -> tuple[float, float | None] | None:
        """(seconds on its own clock, seconds that clock is ahead of UTC if the text says so), or None."""
        if self.is_number:
            return self._number(text)
        found = self.match(text)
        if found is None:
            return None
        day, hour, minute, second, part, half, zulu, ahead, ahead_minutes = found.groups()
        start = self.day(day)
        clock = _clock(int(hour), int(minute), int(second or 0), half)
        if start is None or clock is None:
            return None
        offset = 0.0 if zulu else _offset(ahead, ahead_minutes) if ahead else None
        return start + clock + (float(f"0.{part}") if part else 0.0), offset

    @property
    def is_number(self) -> bool:
        """Whether a time is one number, with no signs between its parts."""
        return self.format in EPOCHS or self.format == SERIAL

    def match(self, text: str) -> re.Match[str] | None:
        """The parts of one time: day, hour, minute, second, fraction, half of the day, Z, offset, its minutes."""
        return self._whole.fullmatch(text)

    def day(self, text: str) -> float | None:
        """Seconds from 1970 to the beginning of a day, or None where there is no such day."""
        return self._days[text] if text in self._days else self._day(text)

    def seconds(self, number: float) -> float:
        """Seconds since 1970 of a time that is one number, rounded where a spreadsheet could not say it exactly."""
        if self.format == SERIAL:
            return round(SERIAL_ZERO + number * 86400, 3)
        return number * EPOCHS[self.format]

    def _number(self, text: str) -> tuple[float, float | None] | None:
        try:
            seconds = self.seconds(float(text.replace(",", ".")))
        except (ValueError, OverflowError):
            return None
        if not _EPOCH_RANGE_S[0] <= seconds < _EPOCH_RANGE_S[1]:
            return None
        return seconds, None if self.format == SERIAL else 0.0

    def _day(self, text: str) -> float | None:
        found = self._date.fullmatch(text)
        seconds = None
        if found:
            year, month, day = self._ordered(*found.groups())
            try:
                seconds = (date(year, month, day) - date(1970, 1, 1)).days * 86400.0
            except ValueError:
                seconds = None
            if not FIRST_YEAR <= year < LAST_YEAR:
                seconds = None
        self._days[text] = seconds
        return seconds

    def _ordered(self, a: str, b: str, c: str) -> tuple[int, int, int]:
        if self.format in ("ymd", "ymd8"):
            return int(a), int(b), int(c)
        year = int(c) + (2000 if len(c) == 2 else 0)
        if self.format == "dMy":
            return year, _MONTHS.index(b.lower()) + 1 if b.lower() in _MONTHS else 0, int(a)
        return (year, int(b), int(a)) if self.format == "dmy" else (year, int(a), int(b))


def _clock(hour: int, minute: int, second: int, half: str | None) -> float | None:
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half in ("P", "p") else 0)
    return hour * 3600.0 + minute * 60 + second if hour < 24 and minute < 60 and second < 60 else None


def _offset(hours: str, minutes: str | None) -> float:
    sign = -1 if hours.startswith("-") else 1
    return int(hours) * 3600.0 + sign * int(minutes or 0) * 60


@lru_cache
def _reader(name: str) -> Stamps:
    return Stamps(name)


def formats_of(texts: Sequence[str]) -> list[str]:
    """Every format that reads most of the texts, the ones that read the most of them; several where it is open."""
    read = {name: sum(_reader(name).read(text) is not None for text in texts) for name in FORMATS}
    most = max(read.values(), default=0)
    return [name for name, n in read.items() if n == most and n > 0.5 * len(texts)]
