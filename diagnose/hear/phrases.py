"""Phrases and where they stand in a clause. JavaScript twin: hear_phrases.js.

A phrase is words in order: `rains|raining` is either, `...` lets some words stand between, a word that denies must be
there as well ('does not open'). Words are compared by their stems; one that no phrase knows may be mistyped in one
letter. A single other word may stand between two words of a phrase, and none that denies.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from rapidfuzz.distance import OSA

from diagnose.hear.text import DENIED, Clause, stems
from diagnose.model.heard import Speech

GAP = "..."
MOST_BETWEEN, MOST_IN_GAP = 1, 5
DENIES_AHEAD = 3  # how many words before the phrase a denial reaches over
LEAST_MISTYPED = 5  # shorter words must be right

Item = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Phrase:
    """`items`: the words in order, each with its alternatives; `reach`: how many words may stand before each."""

    items: tuple[Item, ...]
    reach: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """Which words of a clause a phrase takes."""

    places: tuple[int, ...]


def phrase_of(speech: Speech, text: str) -> Phrase:
    """The phrase as written in the knowledge."""
    items, reach, between = list[Item](), list[int](), MOST_BETWEEN
    for part in text.split():
        if part == GAP:
            between = MOST_IN_GAP
        elif words := tuple(dict.fromkeys(w for each in part.split("|") for w in stems(speech, each))):
            items.append(words)
            reach.append(between)
            between = MOST_BETWEEN
    return Phrase(tuple(items), tuple(reach))


def matches(phrase: Phrase, clause: Clause, known: Collection[str]) -> Sequence[Match]:
    """Every place where the phrase stands and is not denied; `known`: all words of all phrases."""
    found = (_from(phrase, clause, known, start) for start in range(len(clause.words) if phrase.items else 0))
    return [m for m in found if m and not _denied(m, clause)]


def _from(phrase: Phrase, clause: Clause, known: Collection[str], start: int) -> Match | None:
    if not _same(clause.words[start].stem, phrase.items[0], known):
        return None
    places = [start]
    for item, reach in zip(phrase.items[1:], phrase.reach[1:], strict=True):
        ahead = range(places[-1] + 1, min(places[-1] + 2 + reach, len(clause.words)))
        place = next((k for k in ahead if _same(clause.words[k].stem, item, known)), None)
        if place is None:
            return None
        places.append(place)
    return Match(tuple(places))


def _same(word: str, item: Item, known: Collection[str]) -> bool:
    if word in item:
        return True
    return word not in known and any(_mistyped(word, each) for each in item)


def _mistyped(word: str, meant: str) -> bool:
    if min(len(word), len(meant)) < LEAST_MISTYPED or word[0] != meant[0]:
        return False
    return OSA.distance(word, meant, score_cutoff=1) <= 1


def _denied(match: Match, clause: Clause) -> bool:
    """Whether a word that denies, and is not of the phrase, stands in it or reaches it from before."""
    first, last = match.places[0], match.places[-1]
    inside = (k for k in range(first, last + 1) if k not in match.places)
    before = (k for k in range(max(0, first - DENIES_AHEAD), first) if _reaches(clause, k, first))
    return any(clause.words[k].stem == DENIED for k in (*inside, *before))


def _reaches(clause: Clause, denial: int, first: int) -> bool:
    """No comma between them, and no circumstance begins on the way or, but for directly after it, with the phrase."""
    way = range(denial + 1, first + 1)
    return not any(k in clause.commas or (clause.words[k].turns and k > denial + 1) for k in way)
