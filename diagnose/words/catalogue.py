"""Every sentence people read, by key, in one language; gettext's plural rules and named placeholders."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

Texts = tuple[str, ...]  # the forms of a message, one for each plural the language has; else a single one


@dataclass(frozen=True)
class Catalogue:
    """`texts`: key -> its forms; `plural`: the Plural-Forms expression of the language, such as '(n != 1)'."""

    language: str
    plural: str
    texts: Mapping[str, Texts]

    @cached_property
    def _form(self) -> object:
        from gettext import c2py  # as below: a first screen needs neither

        return c2py(self.plural)

    def say(self, key: str, **named: object) -> str:
        """The sentence with the named things in it; `n`, a whole number, chooses its plural.

        Raises KeyError where the key or a placeholder's name is unknown.
        """
        forms = self.texts[key]
        text = forms[self.form(int(str(named["n"])))] if len(forms) > 1 else forms[0]
        return text.format_map(named) if "{" in text else text

    def form(self, n: int) -> int:
        """Which form goes with a whole number."""
        return int(self._form(n))  # type: ignore[operator]


def placeholders(text: str) -> frozenset[str]:
    """The names in braces. Raises ValueError where a brace is left open."""
    from string import Formatter

    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)


def over(english: Catalogue, other: Catalogue) -> Catalogue:
    """The other language where it says something that fits, English for the rest."""
    faulty = dict(problems(english, other))
    fits = {key: forms for key, forms in other.texts.items() if key not in faulty}
    missing = {key: _padded(english, other, key) for key in english.texts if key not in fits}
    return Catalogue(other.language, other.plural, {**missing, **fits})


def _padded(english: Catalogue, other: Catalogue, key: str) -> Texts:
    """English in as many forms as the other language has: its first for one, its last for everything else."""
    forms = english.texts[key]
    count = 1 + max(other.form(n) for n in range(200))
    return (forms[0], *(forms[-1:] * (count - 1))) if len(forms) > 1 else forms


def problems(english: Catalogue, other: Catalogue) -> Iterator[tuple[str, str]]:
    """(key, what is wrong) for every message of the other language that cannot be used."""
    count = 1 + max(other.form(n) for n in range(200))
    for key, forms in other.texts.items():
        if key not in english.texts:
            yield key, "unknown key"
        elif len(forms) != (count if len(english.texts[key]) > 1 else 1):
            yield key, "another number of plural forms"
        elif not all(_same_names(english.texts[key][-1], form) for form in forms):
            yield key, "other placeholders than in English"


def _same_names(english: str, other: str) -> bool:
    """A plural form may leave its number out, nothing else."""
    try:
        return placeholders(english) - {"n"} == placeholders(other) - {"n"}
    except ValueError:
        return False
