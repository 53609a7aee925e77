"""A person's words -> clauses of stems, with what is denied, guessed or only asked. JavaScript twin: hear_text.js."""

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import lru_cache
from string import ascii_lowercase, ascii_uppercase

import snowballstemmer  # type: ignore[import-untyped]

from diagnose.model.heard import Speech

DENIED = "!"  # stands for every word that denies
_TOKEN = re.compile(r"[0-9]+(?:[.,:][0-9]+)*|[a-z]+(?:'[a-z]+)?|[0-9a-z]+|[.;:!?\n]|,")
_SMALL = str.maketrans(f"{ascii_uppercase}\u2019", f"{ascii_lowercase}'")  # lower() lengthens a dotted I
_ENDS = frozenset(".;:!?\n")
_STEMMER = snowballstemmer.stemmer("porter")


@dataclass(frozen=True, slots=True)
class HeardWord:
    """A stem, and where in the text it stands. `turns`: it begins a circumstance, which no denial ahead reaches."""

    stem: str
    turns: bool
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Clause:
    """`commas`: places before which a comma stands. `guessed`: said with doubt; `supposed`: only a condition or a
    possibility; `unreal`: a theory, a plan or what somebody asks; `question`: ends with a question mark; `said`: all
    its words as they were said."""

    said: str
    words: tuple[HeardWord, ...]
    commas: frozenset[int]
    guessed: bool
    supposed: bool
    unreal: bool
    question: bool


@lru_cache(maxsize=20_000)  # a list stands in many phrases
def stem(word: str) -> str:
    """Porter 1980, by the snowball library."""
    return str(_STEMMER.stemWord(word))


def stems(speech: Speech, text: str) -> list[str]:
    """The words of one phrase as they are compared."""
    return [w for raw, _, _ in _raw(text) if (w := _compared(speech, raw))]


def words_of(speech: Speech, text: str) -> frozenset[str]:
    """The stems of a whole text."""
    return frozenset(stems(speech, text))


def clauses(speech: Speech, text: str) -> Iterator[Clause]:
    """The clauses of a text, in order; empty ones are left out."""
    tokens: list[tuple[str, int, int]] = []
    for token in _raw(text):
        if token[0] in _ENDS or token[0] in speech.turns:
            yield from _clause(speech, tokens, token[0])
            tokens = []
        if token[0] not in _ENDS:
            tokens.append(token)
    yield from _clause(speech, tokens, "")


def _raw(text: str) -> Iterator[tuple[str, int, int]]:
    """(word, start, end); "doesn't" is two words."""
    for found in _TOKEN.finditer(text.translate(_SMALL)):
        word, start, end = found[0], found.start(), found.end()
        if word == "cannot" or word.endswith("n't"):
            yield word[:-3], start, end
            yield "not", start, end
        else:
            yield word.split("'")[0], start, end


def _compared(speech: Speech, raw: str) -> str:
    if raw in speech.denies:
        return DENIED
    return "" if raw in speech.dropped or not raw[:1].isalnum() else stem(raw)


def _clause(speech: Speech, tokens: list[tuple[str, int, int]], end: str) -> Iterator[Clause]:
    words, commas = list[HeardWord](), set[int]()
    for raw, start, stop in tokens:
        if raw == ",":
            commas.add(len(words))
        elif compared := _compared(speech, raw):
            words.append(HeardWord(compared, raw in speech.circumstances, start, stop))
    if words:
        said = " ".join(raw for raw, _, _ in tokens)
        guessed, supposed = holds(said, speech.doubts), _begins(said, speech.supposes)
        unreal = holds(said, speech.unreal)
        yield Clause(said, tuple(words), frozenset(commas), guessed, supposed, unreal, end == "?")


def _begins(said: str, phrases: Collection[str]) -> bool:
    return any(said == p or said.startswith(f"{p} ") for p in phrases)


def holds(said: str, phrases: Collection[str]) -> bool:
    """Whether one of the phrases stands in what was said, word for word."""
    return any(f" {p} " in f" {said} " for p in phrases)
