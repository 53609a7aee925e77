"""Phrases and where they stand in a clause. JavaScript twin: hear_phrases.js.

A phrase is words in order: `rains|raining` is either, `$name` is any word of that list, `...` lets some words stand
between, a word that denies must be there too ('does not open'). Words are compared by their stems; one that is not
known may be mistyped in one letter. One other word may stand between two words of a phrase, and none that denies.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from rapidfuzz.distance import OSA

from diagnose.hear.text import DENIED, Clause, stems
from diagnose.model.heard import Speech

GAP = "..."
MOST_BETWEEN, MOST_IN_GAP = 1, 5
DENIES_AHEAD = 3  # how many words before the phrase a denial reaches over
LEAST_MISTYPED = 5  # shorter words must be right
COMMA_COUNTS = 2  # a comma between two words of a phrase keeps them as far apart as so many words
AWAY_BEFORE, AWAY_AFTER = 2, 3  # how many words from a phrase one of another place still draws it there

Item = frozenset[str]  # stems, any of which will do
Senses = Sequence[frozenset[str]]  # of each word of a clause: the stems it may be meant for


@dataclass(frozen=True, slots=True)
class Phrase:
    """`items`: the words in order, each with its alternatives; `reach`: how many words may stand before each."""

    items: tuple[Item, ...]
    reach: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """Which words of a clause a phrase takes."""

    places: tuple[int, ...]


def phrase_of(speech: Speech, text: str, lists: Mapping[str, Collection[str]]) -> Phrase:
    """The phrase as written in the knowledge."""
    items, reach, between = list[Item](), list[int](), MOST_BETWEEN
    for part in text.split():
        if part == GAP:
            between = MOST_IN_GAP
        elif words := frozenset(w for each in _alternatives(part, lists) for w in stems(speech, each)):
            items.append(words)
            reach.append(between)
            between = MOST_BETWEEN
    return Phrase(tuple(items), tuple(reach))


def _alternatives(part: str, lists: Mapping[str, Collection[str]]) -> Iterator[str]:
    for each in part.split("|"):
        yield from lists[each[1:]] if each.startswith("$") else (each,)


def senses(clause: Clause, known: Collection[str]) -> Senses:
    """What the words may be meant for; `known`: words that are spelt right."""
    return [_meant(word.stem, known) for word in clause.words]


def _meant(word: str, known: Collection[str]) -> frozenset[str]:
    if word in known:
        return frozenset((word,))
    return frozenset((word, *(each for each in known if _mistyped(word, each))))


def matches(phrase: Phrase, clause: Clause, meant: Senses, elsewhere: Item = frozenset()) -> Sequence[Match]:
    """Every place where the phrase stands, is not denied and has no word of `elsewhere` close."""
    found = (_from(phrase, meant, clause.commas, start) for start in range(len(meant) if phrase.items else 0))
    return [m for m in found if m and not _denied(m, clause) and not _away(m, clause, elsewhere)]


def _from(phrase: Phrase, meant: Senses, commas: Collection[int], start: int) -> Match | None:
    if meant[start].isdisjoint(phrase.items[0]):
        return None
    places = [start]
    for item, reach in zip(phrase.items[1:], phrase.reach[1:], strict=True):
        furthest = places[-1] + 1 + reach
        ahead = range(places[-1] + 1, min(furthest + 1, len(meant)))
        place = next((k for k in ahead if not meant[k].isdisjoint(item)), None)
        if place is None or place + COMMA_COUNTS * sum(places[-1] < c <= place for c in commas) > furthest:
            return None
        places.append(place)
    return Match(tuple(places))


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


def _away(match: Match, clause: Clause, elsewhere: Item) -> bool:
    """Whether a word of another place stands in the phrase, or close to it with no comma between."""
    first, last = match.places[0], match.places[-1]
    begin, end = max(0, first - AWAY_BEFORE), min(len(clause.words), last + 1 + AWAY_AFTER)
    begin = max((c for c in clause.commas if begin < c <= first), default=begin)
    end = min((c for c in clause.commas if last < c < end), default=end)
    return any(clause.words[k].stem in elsewhere for k in range(begin, end) if k not in match.places)
