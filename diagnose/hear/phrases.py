"""Phrases and where they stand in a clause. JavaScript twin: hear_phrases.js; how they are written: phrase_text.

Words are compared by their stems; one that is not known may be mistyped in one letter. One other word may stand
between two words of a phrase (more at `...`), and none that denies. The parts of a phrase stand in any order.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from rapidfuzz.distance import OSA

from diagnose.hear.phrase_text import NUMBER, Item, Phrase, PhrasePart
from diagnose.hear.text import DENIED, Clause

DENIES_AHEAD = 3  # how many words before the phrase a denial reaches over
MOST_APART = 7  # words between two parts of a phrase
LEAST_MISTYPED = 5  # shorter words must be right
COMMA_COUNTS = 2  # a comma between two words of a phrase keeps them as far apart as so many words
AWAY_BEFORE, AWAY_AFTER = 2, 3  # how many words from a phrase one of another place still draws it there

Places = tuple[int, ...]  # in a clause, of the words that a part takes
Senses = Sequence[frozenset[str]]  # of each word of a clause: the stems it may be meant for


@dataclass(frozen=True, slots=True)
class Match:
    """Which words of a clause a phrase takes."""

    places: tuple[int, ...]


def senses(clause: Clause, known: Collection[str]) -> Senses:
    """What the words may be meant for; `known`: words that are spelt right."""
    return [_meant(word.stem, known) for word in clause.words]


def _meant(word: str, known: Collection[str]) -> frozenset[str]:
    if word in known or word[:1].isdigit():
        return frozenset((word, NUMBER) if word[:1].isdigit() else (word,))
    return frozenset((word, *(each for each in known if _mistyped(word, each))))


def matches(phrase: Phrase, clause: Clause, meant: Senses, elsewhere: Item = frozenset()) -> Sequence[Match]:
    """Every place where the phrase stands, is not denied and has no word of `elsewhere` close; of parts, once."""
    if not phrase.parts:
        return []
    found = [_standing(part, clause, meant) for part in phrase.parts]
    whole = ([[places] for places in found[0]]) if len(found) == 1 else _together(found, clause.commas)
    return [
        Match(tuple(sorted(k for places in each for k in places)))
        for each in whole
        if not _denied(each, clause) and not any(_away(places, clause, elsewhere) for places in each)
    ]


def _standing(part: PhrasePart, clause: Clause, meant: Senses) -> list[Places]:
    found = (_from(part, meant, clause.commas, start) for start in range(len(meant)))
    return [places for places in found if places]


def _together(found: Sequence[Sequence[Places]], commas: Collection[int]) -> Iterable[list[Places]]:
    """The first place of the first part that has every other part near: the nearest one that shares no word."""
    for first in found[0]:
        each = [first]
        for others in found[1:]:
            near = min(((_apart(each, p, commas), p) for p in others if not _share(each, p)), default=None)
            if near is None or near[0] > MOST_APART:
                break
            each.append(near[1])
        else:
            return [each]
    return []


def _share(taken: Sequence[Places], places: Places) -> bool:
    return any(k in places for each in taken for k in each)


def _apart(taken: Sequence[Places], places: Places, commas: Collection[int]) -> int:
    """How many words lie between, with their commas."""
    first, last = min(t[0] for t in taken), max(t[-1] for t in taken)
    begin, end = (last, places[0]) if places[0] > last else (places[-1], first)
    return max(0, end - begin - 1) + COMMA_COUNTS * sum(begin < c <= end for c in commas)


def _from(part: PhrasePart, meant: Senses, commas: Collection[int], start: int) -> Places | None:
    if meant[start].isdisjoint(part.items[0]):
        return None
    places = [start]
    for item, reach in zip(part.items[1:], part.reach[1:], strict=True):
        furthest = places[-1] + 1 + reach
        ahead = range(places[-1] + 1, min(furthest + 1, len(meant)))
        place = next((k for k in ahead if not meant[k].isdisjoint(item)), None)
        if place is None or place + COMMA_COUNTS * sum(places[-1] < c <= place for c in commas) > furthest:
            return None
        places.append(place)
    return tuple(places)


def _mistyped(word: str, meant: str) -> bool:
    if min(len(word), len(meant)) < LEAST_MISTYPED or word[0] != meant[0]:
        return False
    return OSA.distance(word, meant, score_cutoff=1) <= 1


def _denied(parts: Sequence[Places], clause: Clause) -> bool:
    """Whether a word that denies, and is not of the phrase, stands in a part of it or reaches it from before."""
    own = {k for places in parts for k in places}
    return any(k not in own for places in parts for k in _denials(places, clause))


def _denials(places: Places, clause: Clause) -> Iterable[int]:
    first, last = places[0], places[-1]
    before = (k for k in range(max(0, first - DENIES_AHEAD), first) if _reaches(clause, k, first))
    return [k for k in (*range(first, last + 1), *before) if clause.words[k].stem == DENIED]


def _reaches(clause: Clause, denial: int, first: int) -> bool:
    """No comma between them, and no circumstance begins on the way but directly after it ('not only when')."""
    direct = True
    for k in range(denial + 1, first + 1):
        direct = direct and (k == denial + 1 or clause.words[k - 1].turns)
        if k in clause.commas or (clause.words[k].turns and not direct):
            return False
    return True


def _away(places: Places, clause: Clause, elsewhere: Item) -> bool:
    """Whether a word of another place stands in the phrase, or close to it with no comma between."""
    first, last = places[0], places[-1]
    begin, end = max(0, first - AWAY_BEFORE), min(len(clause.words), last + 1 + AWAY_AFTER)
    begin = max((c for c in clause.commas if begin < c <= first), default=begin)
    end = min((c for c in clause.commas if last < c < end), default=end)
    return any(clause.words[k].stem in elsewhere for k in range(begin, end) if k not in places)
