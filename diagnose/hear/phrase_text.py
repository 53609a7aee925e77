"""How phrases are written in the knowledge. JavaScript twin: hear_written.js.

A phrase is words in order: `rains|raining` is either, `$name` is any word of that list, `..` lets a few words
stand between, `...` some more, a word that denies must be there too ('does not open'). `&` parts what may stand in
any order in one clause. `>>` stands before a part which may also follow in one of the next clauses. `#` is any number
in digits. `@name` is any turn of phrase of that name: the phrase stands once for each.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from diagnose.hear.text import stems
from diagnose.model.heard import Speech

GAPS = {"...": 5, "..": 3}  # how many words may stand between
BESIDE, THEN, WAY = "&", ">>", "@"
NUMBER = "#"  # stands for every number in digits
MOST_BETWEEN = 1

Item = frozenset[str]  # stems, any of which will do
Lists = Mapping[str, Collection[str]]


@dataclass(frozen=True, slots=True)
class PhrasePart:
    """`items`: the words in order, each with its alternatives; `reach`: how many words may stand before each."""

    items: tuple[Item, ...]
    reach: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Phrase:
    """The parts, which stand in any order; `then`: what must stand in the same clause or follow soon."""

    parts: tuple[PhrasePart, ...]
    then: "Phrase | None" = None

    @property
    def items(self) -> tuple[Item, ...]:
        """Of all its parts."""
        own = tuple(item for part in self.parts for item in part.items)
        return own + (self.then.items if self.then else ())


def phrases_of(speech: Speech, text: str, lists: Lists) -> Iterator[Phrase]:
    """The phrase as written in the knowledge, once for each of its turns of phrase."""
    for written in _spread(speech, text):
        yield phrase_of(speech, written, lists)


def phrase_of(speech: Speech, text: str, lists: Lists) -> Phrase:
    """One phrase without turns of phrase."""
    first, _, rest = text.partition(THEN)
    parts = (_part(speech, written, {**speech.lists, **lists}) for written in first.split(BESIDE))
    return Phrase(tuple(part for part in parts if part.items), phrase_of(speech, rest, lists) if rest else None)


def _spread(speech: Speech, text: str) -> Iterator[str]:
    named = next((word for word in text.split() if word.startswith(WAY)), "")
    if not named:
        yield text
        return
    for way in speech.ways[named[1:]]:
        yield from _spread(speech, text.replace(named, way, 1))


def _part(speech: Speech, text: str, lists: Lists) -> PhrasePart:
    items, reach, between = list[Item](), list[int](), MOST_BETWEEN
    for word in text.split():
        if word in GAPS:
            between = GAPS[word]
        elif meant := frozenset(w for each in _alternatives(word, lists) for w in _stems(speech, each)):
            items.append(meant)
            reach.append(between)
            between = MOST_BETWEEN
    return PhrasePart(tuple(items), tuple(reach))


def _stems(speech: Speech, word: str) -> list[str]:
    return [NUMBER] if word == NUMBER else stems(speech, word)


def _alternatives(word: str, lists: Lists) -> Iterator[str]:
    for each in word.split("|"):
        if each.startswith("$"):
            for inner in lists[each[1:]]:
                yield from _alternatives(inner, lists)
        else:
            yield each
