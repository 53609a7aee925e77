"""What a language does not say yet, and what it says that cannot be used."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.words.catalogue import problems
from diagnose.words.read import ENGLISH, SHIPPED, folder_of, own


@dataclass(frozen=True, slots=True)
class Completeness:
    """`of` texts there are; `missing` keys are said in English; `faulty`: (key, why it is not used)."""

    of: int
    missing: tuple[str, ...]
    faulty: tuple[tuple[str, str], ...]


def of_words(language: str) -> Completeness:
    """The catalogue of a language against the English one. Raises LanguageError."""
    english, other = own(SHIPPED / ENGLISH), own(folder_of(language))
    return compared(english.texts, other.texts, dict(problems(english, other)))


def of_texts(english: Mapping[str, str], other: Mapping[str, str]) -> Completeness:
    """Texts of the knowledge against what a language file says."""
    return compared(english, other, {key: "unknown key" for key in other if key not in english})


def compared(english: Mapping[str, object], other: Mapping[str, object], faulty: Mapping[str, str]) -> Completeness:
    missing = tuple(key for key in english if key not in other)
    return Completeness(len(english), missing, tuple(faulty.items()))
