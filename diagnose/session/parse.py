"""What a person typed at a check -> a value, or a friendly AnswerError. The same for every front end."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.calc.units import format_reading, parse_reading
from diagnose.errors import AnswerError
from diagnose.model.knowledge import Check
from diagnose.model.visit import Value

YES_NO: Mapping[str, str] = {"yes": "yes", "no": "no"}
_YES = {"y", "yes", "yep", "yeah", "ja", "true"}
_NO = {"n", "no", "nope", "nein", "false"}
_MAYBE = "maybe "
_NO_ANSWER = {
    "?": "dont_know",
    "dont_know": "dont_know",
    "don't know": "dont_know",
    "dont know": "dont_know",
    "dk": "dont_know",
    "unknown": "dont_know",
    "no idea": "dont_know",
    "cant_check": "cant_check",
    "can't check": "cant_check",
    "cant check": "cant_check",
    "cannot": "cant_check",
    "cannot check": "cant_check",
    "skip": "skip",
    "s": "skip",
}


@dataclass(frozen=True, slots=True)
class Parsed:
    """The value, whether the person was sure, and any assumption or doubt to show."""

    value: Value
    sure: bool = True
    note: str = ""
    doubt: str = ""  # set when the value is possible but strange: ask "really?"


def options_of(check: Check, plain: bool = False) -> Mapping[str, str]:
    """The numbered answers of a check; in a caller's words when `plain`. Empty for a quantity."""
    if check.kind == "yes_no":
        return check.options or YES_NO
    return {**check.options, **check.caller_options} if plain else check.options


def parse_answer(check: Check, text: str) -> Parsed:
    """Read a number of the list, an option's id or words, yes/no, a quantity with unit, or a 'no answer' word.

    A trailing '?' or 'maybe' in front marks the answer as not sure. Raises AnswerError.
    """
    typed = " ".join(text.split())
    lowered = typed.casefold()
    if lowered in _NO_ANSWER:
        return Parsed(_NO_ANSWER[lowered])
    sure = not (lowered.startswith(_MAYBE) or typed.endswith("?"))
    body = typed.rstrip("?").strip()
    body = body[len(_MAYBE) :].strip() if body[: len(_MAYBE)].lower() == _MAYBE else body
    if not body:
        raise AnswerError("type an answer, or 'help' for how to do this check")
    return _quantity(check, body, sure) if check.kind == "quantity" else Parsed(_option(check, body), sure)


def _option(check: Check, body: str) -> str:
    options = options_of(check)
    lowered = body.casefold()
    if check.kind == "yes_no" and lowered in _YES | _NO:
        return "yes" if lowered in _YES else "no"
    if number := number_of(body, len(options)):
        return list(options)[number - 1]
    if lowered in options:
        return lowered
    hits = _spoken(check, lowered)
    if len(hits) == 1:
        return hits.pop()
    fits = f"'{body[:30]}' fits several; " if hits else ""
    raise AnswerError(f"{fits}please type a number from 1 to {len(options)}, or ? for 'don't know'")


def number_of(typed: str, most: int) -> int:
    """The number of a list of `most` entries that was typed, or 0."""
    digits = typed.rstrip(".)")
    return int(digits) if re.fullmatch("[0-9]{1,3}", digits) and 1 <= int(digits) <= most else 0


def _spoken(check: Check, lowered: str) -> set[str]:
    """Options that say this: in exactly these words, else with these whole words, else with words that begin so."""
    tables = (check.options, check.caller_options, {o: o.replace("_", " ") for o in options_of(check)})
    said = [(o, words.casefold()) for table in tables for o, words in table.items()]
    inside = re.compile(rf"(?<!\w){re.escape(lowered)}(?!\w)")
    begins = re.compile(rf"(?<!\w){re.escape(lowered)}" if len(lowered) > 1 else "(?!)")
    for fits in (lowered.__eq__, inside.search, begins.search):
        if hits := {o for o, words in said if fits(words)}:
            return hits
    return set()


def _quantity(check: Check, body: str, sure: bool) -> Parsed:
    reading = parse_reading(body, check.unit)
    low, high = check.hard or (float("-inf"), float("inf"))
    if reading.value == float("inf"):
        return Parsed(high, sure, f"over range, kept as {format_reading(high, check.unit)}")
    shown = format_reading(reading.value, check.unit)
    if not low <= reading.value <= high:
        limits = f"{format_reading(low, check.unit)} to {format_reading(high, check.unit)}"
        raise AnswerError(f"{shown} cannot be right here; possible is {limits}. Try again, or ? for 'don't know'")
    doubt = ""
    if check.plausible and not check.plausible[0] <= reading.value <= check.plausible[1]:
        usual = " to ".join(format_reading(limit, check.unit) for limit in check.plausible)
        doubt = f"{shown} is unusual here (usual: {usual})"
    return Parsed(reading.value, sure, reading.note, doubt)
