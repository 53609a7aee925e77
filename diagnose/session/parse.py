"""What a person typed at a check -> a value, or a friendly AnswerError. The same for every front end."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.calc.units import format_reading, parse_reading
from diagnose.errors import AnswerError
from diagnose.model.knowledge import Check
from diagnose.model.visit import NO_ANSWER, SOMETHING_ELSE, Value
from diagnose.session.events import Reply
from diagnose.words import say

YES_NO = ("yes", "no")
_UNSURE = "?"  # at the end of an answer; alone it means that there is none


@dataclass(frozen=True, slots=True)
class Parsed:
    """The value, whether the person was sure, and any assumption or doubt to show."""

    value: Value
    sure: bool = True
    note: str = ""
    doubt: str = ""  # set when the value is possible but strange: ask "really?"
    words: str = ""  # of SOMETHING_ELSE, as they were typed

    def reply(self, check: str) -> Reply:
        """The event that gives this answer to the check."""
        return Reply(check, self.value, self.sure, note=self.words)


def options_of(check: Check, plain: bool = False) -> Mapping[str, str]:
    """The numbered answers of a check; in a caller's words when `plain`. Empty for a quantity."""
    if check.kind == "yes_no":
        return check.options or {option: say(f"session.{option}") for option in YES_NO}
    return {**check.options, **check.caller_options} if plain else check.options


def parse_answer(check: Check, text: str) -> Parsed:
    """Read a number of the list, an option's id or words, yes/no, a quantity with unit, or a 'no answer' word.

    A trailing '?' or 'maybe' in front marks the answer as not sure; 'else' in front, that no answer fits.
    Raises AnswerError.
    """
    typed = " ".join(text.split())
    lowered = typed.casefold()
    if words := _something_else(typed):
        return Parsed(SOMETHING_ELSE, words=words)
    if none := _no_answer(lowered):
        return Parsed(none)
    maybe = f"{say('session.maybe')} "
    sure = not (lowered.startswith(maybe) or typed.endswith(_UNSURE))
    body = typed.rstrip(_UNSURE).strip()
    body = body[len(maybe) :].strip() if lowered.startswith(maybe) else body
    if not body:
        raise AnswerError(say("session.type_an_answer"))
    return _quantity(check, body, sure) if check.kind == "quantity" else Parsed(_option(check, body), sure)


def _no_answer(lowered: str) -> str:
    """Which of NO_ANSWER was typed, by its id or in words, or ''. Raises AnswerError where it needs words as well."""
    if lowered == _UNSURE:
        return NO_ANSWER[0]
    typed = (none for none in NO_ANSWER if lowered == none or lowered in spoken_for(f"session.words_{none}"))
    if (found := next(typed, "")) == SOMETHING_ELSE:
        raise AnswerError(say("session.no_words"))
    return found


def _something_else(typed: str) -> str:
    """The words behind 'else', or ''."""
    heads = (f"{head} " for head in spoken_for(f"session.words_{SOMETHING_ELSE}"))
    return next((typed[len(head) :].strip() for head in heads if typed.casefold().startswith(head)), "")


def in_words(typed: str) -> bool:
    """Whether the line, which is no answer, is something that a person says: two words at least."""
    return len(re.findall(r"[^\W\d_]{2,}", typed)) > 1


def spoken_for(key: str) -> tuple[str, ...]:
    """The words that may be typed for something: listed with commas under a key."""
    return tuple(word for part in say(key).split(",") if (word := part.strip()))


def yes_or_no(typed: str) -> str:
    """'yes', 'no', or '' where it is neither."""
    lowered = typed.casefold()
    return next((word for word in YES_NO if lowered in spoken_for(f"session.words_{word}")), "")


def _option(check: Check, body: str) -> str:
    options = options_of(check)
    lowered = body.casefold()
    if check.kind == "yes_no" and (word := yes_or_no(lowered)):
        return word
    if number := number_of(body, len(options)):
        return list(options)[number - 1]
    if lowered in options:
        return lowered
    hits = _spoken(check, lowered)
    if len(hits) == 1:
        return hits.pop()
    key = "session.fits_several" if hits else "session.type_a_number"
    raise AnswerError(say(key, typed=body[:30], most=len(options)))


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
        return Parsed(high, sure, say("session.over_range", kept=format_reading(high, check.unit)))
    sure, shown = sure and not reading.loose, format_reading(reading.value, check.unit)
    if not low <= reading.value <= high:
        least, most = format_reading(low, check.unit), format_reading(high, check.unit)
        raise AnswerError(say("session.cannot_be", shown=shown, low=least, high=most))
    doubt = ""
    if check.plausible and not check.plausible[0] <= reading.value <= check.plausible[1]:
        least, most = (format_reading(limit, check.unit) for limit in check.plausible)
        doubt = say("session.unusual", shown=shown, low=least, high=most)
    return Parsed(reading.value, sure, reading.note, doubt)
