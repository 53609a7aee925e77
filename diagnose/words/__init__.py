"""What is said to people: one catalogue of sentences per language, gettext's .po files, English by default.

A program speaks one language at a time. `say` looks a sentence up when it is called, so no sentence may be kept in
a module's constant.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from diagnose.words.catalogue import Catalogue
from diagnose.words.read import ENGLISH, catalogue

_spoken: list[Catalogue] = []  # the catalogue in use; empty until the first word


def spoken() -> Catalogue:
    """The catalogue in use."""
    if not _spoken:
        _spoken.append(catalogue(ENGLISH))
    return _spoken[0]


def speak(language: str) -> None:
    """From now on everything is said in this language: a shipped one or a folder of .po files.

    Raises LanguageError.
    """
    _spoken[:] = [catalogue(language)]


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """The language for a while, then the one before."""
    before = spoken()
    speak(language)
    try:
        yield
    finally:
        _spoken[:] = [before]


def say(key: str, /, **named: object) -> str:
    """The sentence for a key, with the named things in it; a whole number `n` chooses its plural.

    Raises KeyError where the key or a name is unknown.
    """
    return spoken().say(key, **named)
