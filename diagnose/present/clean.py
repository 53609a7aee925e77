"""Text from people and files, made harmless for paper: no control or direction characters, no endless words."""

import unicodedata
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from diagnose.words import say

LONGEST_TEXT = 1500  # characters; the visit file keeps all
LONGEST_NAME = 120  # of a site or a person
MOST_MARKS = 4  # accents in a row; more only smear over the lines around them
_JOINERS = "\u200c\u200d"  # needed to write some scripts, and harmless
_DROPPED = ("Cc", "Cf", "Cs", "Co", "Cn")
T = TypeVar("T")


def clean(text: str, most: int = LONGEST_TEXT) -> str:
    """One line of visible characters; what is cut off a very long text is said."""
    kept = text[:most]
    visible = "".join(_harmless(c) for c in kept)
    line = " ".join(_without_smears(visible).split())
    cut = len(text) - len(kept)
    return f"{line} {say('present.cut_off', n=cut)}" if cut else line


def _harmless(character: str) -> str:
    if character.isspace():
        return " "
    dropped = unicodedata.category(character) in _DROPPED and character not in _JOINERS
    return "" if dropped else character


def _without_smears(text: str) -> str:
    kept: list[str] = []
    marks = 0
    for character in text:
        marks = marks + 1 if unicodedata.combining(character) else 0
        if marks <= MOST_MARKS:
            kept.append(character)
    return "".join(kept)


def cleaned(record: T) -> T:
    """The record with every text in it cleaned."""
    result: T = _cleaned(record)
    return result


def _cleaned(value: Any) -> Any:
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, tuple):
        return tuple(_cleaned(v) for v in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: _cleaned(getattr(value, f.name)) for f in fields(value)})
    return value
