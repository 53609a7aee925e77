"""Readers of single inputs: each turns what was typed into a Given, or raises AnswerError with the reason."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from math import inf, isinf
from typing import get_args

from diagnose.calc.cable import Load
from diagnose.calc.contacts import Contact, Seen
from diagnose.calc.units import format_reading, parse_reading
from diagnose.calc.worked.shape import Given
from diagnose.errors import AnswerError

Read = Callable[[str], Given]

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


def quantity(unit: str, low: float, high: float, *, may_be_open: bool = False) -> Read:
    """Reads a value in base unit `unit` between `low` and `high`; over range is infinite where it makes sense."""

    def read(text: str) -> Given:
        found = parse_reading(text, unit)
        shown = format_reading(found.value, unit)
        if isinf(found.value) and may_be_open:
            return Given(inf, "over range (open)")
        if not low <= found.value <= high:
            limits = f"{format_reading(low, unit)} to {format_reading(high, unit)}"
            raise AnswerError(f"{shown} cannot be right; possible is {limits}.")
        value = found.value if abs(found.value) >= _SMALLEST else 0.0
        return Given(value, format_reading(value, unit), found.note)

    return read


def bare(unit: str, low: float, high: float) -> Read:
    """Reads a number in one of BARE_UNITS."""
    pattern = re.compile(rf"{_BARE_NUMBER}\s*(?:{BARE_UNITS[unit]})?", re.I)

    def read(text: str) -> Given:
        match = pattern.fullmatch(text.strip())
        if match is None:
            raise AnswerError(f"'{text.strip()}' is no number in {unit}.")
        value = float(match[1].replace(",", "."))
        if not low <= value <= high:
            raise AnswerError(f"{value:g} {unit} cannot be right; possible is {low:g} to {high:g} {unit}.")
        return Given(value, f"{value:g} {unit}")

    return read


def word(*words: str) -> Read:
    """Reads one of these words, or the start of one."""

    def read(text: str) -> Given:
        typed = text.strip().casefold().replace(" ", "_")
        hits = [one for one in words if typed and one.startswith(typed)]
        if len(hits) != 1:
            raise AnswerError(f"'{text.strip()}' is not one of: {', '.join(words)}.")
        return Given(hits[0], hits[0].replace("_", " "))

    return read


contact = word(*get_args(Contact))
seen = word(*get_args(Seen))


def load(text: str) -> Given:
    """Reads what a device draws: watts (constant power) or amperes (constant current); a bare number is refused."""
    if not re.search("[A-Za-z]", text):
        raise AnswerError(
            f"'{text.strip()}' may be watts or amperes. Add W (constant power) or A (constant current)."
        )
    try:
        given = quantity("W", 0, _LARGEST_W)(text)
    except AnswerError as not_watts:
        try:
            given = quantity("A", 0, _LARGEST_A)(text)
        except AnswerError:
            raise AnswerError(str(not_watts)) from None
        return Given(Load("constant current", _number(given)), f"{given.shown} constant current", given.note)
    return Given(Load("constant power", _number(given)), f"{given.shown} constant power", given.note)


def device(text: str) -> Given:
    """Reads a device on a run, DISTANCE:LOAD, as (metres from the source, Load)."""
    distance, colon, drawn = text.partition(":")
    if not colon:
        raise AnswerError(f"'{text.strip()}' has no ':' between distance and load.")
    at, draws = quantity("m", 0, _LONGEST_RUN_M)(distance), load(drawn)
    note = "; ".join(filter(None, (at.note, draws.note)))
    return Given((at.value, draws.value), f"{draws.shown} at {at.shown}", note)


def _number(given: Given) -> float:
    assert isinstance(given.value, float)
    return given.value


def coordinate(positive: str, negative: str, largest: float) -> Read:
    """Reads a latitude or longitude in degrees, with a sign or a letter (51.5, 51.5N, 33.9 S)."""
    letters = f"{positive}{negative}{positive.lower()}{negative.lower()}"

    def read(text: str) -> Given:
        typed = text.strip()
        letter = typed[-1:].upper() if typed[-1:] and typed[-1:] in letters else ""
        given = quantity("deg", -largest, largest)(typed[:-1] if letter else typed)
        value = _number(given)
        if letter and value < 0:
            raise AnswerError(f"'{typed}' has both a sign and a letter; give one of them.")
        value = -value if letter == negative else value
        return Given(value, f"{abs(value):g}° {positive if value >= 0 else negative}")

    return read


def moment(text: str) -> Given:
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
    return Given(when, when.isoformat(sep=" ", timespec="minutes"))
