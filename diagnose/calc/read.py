"""Readers of single inputs: each turns what was typed into a Given, or raises AnswerError with the reason."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from math import inf, isinf
from typing import get_args

from diagnose.calc.cable import Load
from diagnose.calc.calculator import Read, ReadInput
from diagnose.calc.contacts import Contact, Seen
from diagnose.calc.units import format_reading, parse_reading
from diagnose.errors import AnswerError

BARE_UNITS = {"nm": "nm", "ns": "ns", "m/s2": r"m/s(?:2|²|\^2)"}
"""Units nobody reads off a meter at a gate: taken in this one spelling, or left out."""

_BARE_NUMBER = r"([+-]?[0-9]{1,9}(?:[.,][0-9]{1,9})?)"
_MOMENT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[T ]\s*([0-9]{1,2}:[0-9]{2})\s*(?:(Z|UTC)|([+-])([0-9]{1,2})(?::?([0-9]{2}))?)",
    re.I,
)
_SMALLEST = 1e-6  # of the unit asked in: nothing a gate needs is smaller, so this is zero
_FIRST_YEAR, _LAST_YEAR, _LARGEST_OFFSET_H = 1950, 2100, 14
_LARGEST_W, _LARGEST_A, _LONGEST_RUN_M = 2000.0, 100.0, 5000.0


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in base unit `unit` between `low` and `high`; over range is infinite where it makes sense."""

    unit: str
    low: float
    high: float
    may_be_open: bool = False

    def __call__(self, text: str, /) -> ReadInput:
        found = parse_reading(text, self.unit)
        if isinf(found.value) and self.may_be_open:
            return ReadInput(inf, "over range (open)")
        if not self.low <= found.value <= self.high:
            limits = f"{self.shown(self.low)} to {self.shown(self.high)}"
            raise AnswerError(f"{self.shown(found.value)} cannot be right; possible is {limits}.")
        value = found.value if abs(found.value) >= _SMALLEST else 0.0
        return ReadInput(value, self.shown(value), found.note)

    def shown(self, value: float) -> str:
        return format_reading(value, self.unit)


@dataclass(frozen=True, slots=True)
class Bare:
    """A number in one of BARE_UNITS."""

    unit: str
    low: float
    high: float

    def __call__(self, text: str, /) -> ReadInput:
        match = re.fullmatch(rf"{_BARE_NUMBER}\s*(?:{BARE_UNITS[self.unit]})?", text.strip(), re.I)
        if match is None:
            raise AnswerError(f"'{text.strip()}' is no number in {self.unit}.")
        value = float(match[1].replace(",", "."))
        if not self.low <= value <= self.high:
            limits = f"{self.low:g} to {self.high:g} {self.unit}"
            raise AnswerError(f"{self.shown(value)} cannot be right; possible is {limits}.")
        return ReadInput(value, self.shown(value))

    def shown(self, value: float) -> str:
        return f"{value:g} {self.unit}"


@dataclass(frozen=True, slots=True)
class Word:
    """One of these words, or the start of one."""

    words: tuple[str, ...]

    def __call__(self, text: str, /) -> ReadInput:
        typed = text.strip().casefold().replace(" ", "_")
        hits = [one for one in self.words if typed and one.startswith(typed)]
        if len(hits) != 1:
            raise AnswerError(f"'{text.strip()}' is not one of: {', '.join(self.words)}.")
        return ReadInput(hits[0], self.shown(hits[0]))

    def shown(self, value: str) -> str:
        return value.replace("_", " ")


contact, seen = Word(get_args(Contact)), Word(get_args(Seen))


def load(text: str) -> ReadInput:
    """Reads what a device draws: watts (constant power) or amperes (constant current); a bare number is refused."""
    if not re.search("[A-Za-z]", text):
        raise AnswerError(
            f"'{text.strip()}' may be watts or amperes. Add W (constant power) or A (constant current)."
        )
    try:
        given = Quantity("W", 0, _LARGEST_W)(text)
    except AnswerError as not_watts:
        try:
            given = Quantity("A", 0, _LARGEST_A)(text)
        except AnswerError:
            raise AnswerError(str(not_watts)) from None
        return ReadInput(Load("constant current", _number(given)), f"{given.shown} constant current", given.note)
    return ReadInput(Load("constant power", _number(given)), f"{given.shown} constant power", given.note)


def device(text: str) -> ReadInput:
    """Reads a device on a run, DISTANCE:LOAD, as (metres from the source, Load)."""
    distance, colon, drawn = text.partition(":")
    if not colon:
        raise AnswerError(f"'{text.strip()}' has no ':' between distance and load.")
    at, draws = Quantity("m", 0, _LONGEST_RUN_M)(distance), load(drawn)
    note = "; ".join(filter(None, (at.note, draws.note)))
    return ReadInput((at.value, draws.value), f"{draws.shown} at {at.shown}", note)


def _number(given: ReadInput) -> float:
    assert isinstance(given.value, float)
    return given.value


def coordinate(positive: str, negative: str, largest: float) -> Read:
    """Reads a latitude or longitude in degrees, with a sign or a letter (51.5, 51.5N, 33.9 S)."""
    letters = f"{positive}{negative}{positive.lower()}{negative.lower()}"

    def read(text: str) -> ReadInput:
        typed = text.strip()
        letter = typed[-1:].upper() if typed[-1:] and typed[-1:] in letters else ""
        given = Quantity("deg", -largest, largest)(typed[:-1] if letter else typed)
        value = _number(given)
        if letter and value < 0:
            raise AnswerError(f"'{typed}' has both a sign and a letter; give one of them.")
        value = -value if letter == negative else value
        return ReadInput(value, f"{abs(value):g}° {positive if value >= 0 else negative}")

    return read


def moment(text: str) -> ReadInput:
    """Reads a date and time that carries its offset from UTC; without one it is refused."""
    match = _MOMENT.fullmatch(text.strip())
    if match is None:
        raise AnswerError(f"'{text.strip()}' is no date and time with its offset from UTC (Z or +01:00).")
    hours, minutes = int(match[5] or 0), int(match[6] or 0)
    offset = timedelta(hours=hours, minutes=minutes) * (-1 if match[4] == "-" else 1)
    if abs(offset) > timedelta(hours=_LARGEST_OFFSET_H) or minutes > 59:
        raise AnswerError(f"No place is {match[4]}{hours:02}:{minutes:02} from UTC.")
    try:
        when = datetime.strptime(f"{match[1]} {match[2]}", "%Y-%m-%d %H:%M").replace(tzinfo=timezone(offset))
    except ValueError:
        raise AnswerError(f"There is no {match[1]} {match[2]}.") from None
    if not _FIRST_YEAR <= when.year <= _LAST_YEAR:
        raise AnswerError(f"The year {when.year} is outside {_FIRST_YEAR} to {_LAST_YEAR}.")
    return ReadInput(when, when.isoformat(sep=" ", timespec="minutes"))
