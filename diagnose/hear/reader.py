"""A text -> what was heard in it. JavaScript twin: hear.js."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.hear.phrase_text import Item, Phrase, phrases_of
from diagnose.hear.phrases import Match, Senses, matches, senses
from diagnose.hear.text import Clause, clauses, holds, stems, words_of
from diagnose.model.heard import COMPLAINT, DANGER, Hearing, Speech
from diagnose.model.knowledge import KnowledgeBase

GUESSED = 0.5  # of the weight of what is said outright
MOST_LATER = 2  # clauses in which what belongs to a phrase may follow
LATER = 0.5  # of a word's weight is lost with each clause on the way


@dataclass(frozen=True, slots=True)
class Overheard:
    """One thing that was heard: `option` of `about`, a check, the complaint or a danger.

    `start`, `end`: its words in the text. `weight`: how many words speak for it. Not `sure`: said as a guess.
    """

    about: str
    option: str
    start: int
    end: int
    weight: float
    sure: bool


@dataclass(frozen=True, slots=True)
class HeardText:
    """`complaints` best first, with their weights; `facts` of checks, each check once; `dangers`, each once."""

    complaints: tuple[tuple[str, float], ...] = ()
    facts: tuple[Overheard, ...] = ()
    dangers: tuple[Overheard, ...] = ()


@dataclass(frozen=True, slots=True)
class _Listening:
    """A clause, what its words may be meant for, and for which hearings it says nothing."""

    clause: Clause
    meant: Senses
    silent: frozenset[str]


class Listener:
    """Every phrase of a knowledge base, ready to listen."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._speech = kb.speech
        self._phrases: Sequence[tuple[str, str, Phrase]] = [
            (about, option, phrase)
            for about, hearing in kb.heard.items()
            for option, texts in hearing.options.items()
            for text in texts
            for phrase in phrases_of(kb.speech, text, hearing.lists)
        ]
        self._begins = _beginnings(phrase for _, _, phrase in self._phrases)
        self._elsewhere: Mapping[str, Item] = {
            about: _stemmed(kb.speech, hearing.elsewhere) for about, hearing in kb.heard.items()
        }
        self._amid = {
            about: (_stemmed(kb.speech, hearing.amid), _stemmed(kb.speech, hearing.never_amid))
            for about, hearing in kb.heard.items()
        }
        self._heard = kb.heard
        small = _stemmed(kb.speech, kb.speech.supposes)
        spelt = (item for _, _, phrase in self._phrases for item in phrase.items)
        self._known = small.union(*spelt, *self._elsewhere.values())

    def read(self, text: str) -> HeardText:
        """What the text says. Nothing is heard where it is denied, asked, or only supposed."""
        heard = [self._listening(clause, self._apart(text)) for clause in clauses(self._speech, text)]
        found = [each for k in range(len(heard)) for each in self._in(heard, k)]
        facts = [h for h in found if h.about not in (COMPLAINT, DANGER)]
        dangers = {h.option: h for h in reversed(found) if h.about == DANGER}
        return HeardText(_complaints(found), _facts(facts), tuple(sorted(dangers.values(), key=lambda h: h.start)))

    def _apart(self, text: str) -> frozenset[str]:
        """What is not talked of in the whole text."""
        said = words_of(self._speech, text)
        return frozenset(each.id for each in self._heard.values() if not self._talked_of(each, said))

    def _talked_of(self, hearing: Hearing, said: frozenset[str]) -> bool:
        amid, never = self._amid[hearing.id]
        return (not amid or not amid.isdisjoint(said)) and never.isdisjoint(said)

    def _listening(self, clause: Clause, apart: frozenset[str]) -> _Listening:
        silent = apart.union(each.id for each in self._heard.values() if _silent(each, clause))
        return _Listening(clause, senses(clause, self._known), silent)

    def _in(self, heard: Sequence[_Listening], at: int) -> Iterator[Overheard]:
        """What the clause at this place says, with what follows it."""
        for about, option, phrase in self._beginning(heard[at].meant):
            for match in self._matches(about, phrase, heard[at]):
                one = _heard(about, option, match, heard[at].clause)
                yield from self._followed(one, phrase, heard[at : at + 1 + MOST_LATER]) if phrase.then else (one,)

    def _followed(self, one: Overheard, phrase: Phrase, heard: Sequence[_Listening]) -> Iterator[Overheard]:
        """With the first that follows: the later, the less it says."""
        for later, each in enumerate(heard):
            for match in self._matches(one.about, phrase.then or phrase, each):
                next_one = _heard(one.about, one.option, match, each.clause)
                yield _both(one, next_one, later)
                return

    def _matches(self, about: str, phrase: Phrase, heard: _Listening) -> Sequence[Match]:
        if about in heard.silent:
            return ()
        return matches(phrase, heard.clause, heard.meant, self._elsewhere[about])

    def _beginning(self, meant: Senses) -> Iterator[tuple[str, str, Phrase]]:
        """The phrases whose first word stands in the clause, in their order."""
        said = frozenset().union(*meant)
        for k in sorted({k for stem in said for k in self._begins.get(stem, ())}):
            yield self._phrases[k]


def _stemmed(speech: Speech, texts: Iterable[str]) -> Item:
    return frozenset(w for text in texts for w in stems(speech, text))


def _beginnings(phrases: Iterable[Phrase]) -> Mapping[str, Sequence[int]]:
    begins = dict[str, list[int]]()
    for k, phrase in enumerate(phrases):
        for stem in phrase.items[0] if phrase.items else ():
            begins.setdefault(stem, []).append(k)
    return begins


def _silent(hearing: Hearing, clause: Clause) -> bool:
    """What is only supposed or long past says nothing; a question or theory states no fact, but may tell of danger.

    A theory may still name the complaint.
    """
    habit = bool(hearing.mere) and clause.said.startswith("if ") and not holds(clause.said, hearing.mere)
    if clause.supposed and not habit:
        return True
    if hearing.id != DANGER and (clause.question or (clause.unreal and hearing.id != COMPLAINT)):
        return True
    return holds(clause.said, hearing.settled)


def _heard(about: str, option: str, match: Match, clause: Clause) -> Overheard:
    taken = [clause.words[k] for k in match.places]
    weight = len(taken) * (GUESSED if clause.guessed else 1.0)
    return Overheard(about, option, taken[0].start, taken[-1].end, weight, not clause.guessed)


def _both(one: Overheard, following: Overheard, later: int) -> Overheard:
    start, end = min(one.start, following.start), max(one.end, following.end)
    weight = one.weight + following.weight - LATER * later
    return replace(one, start=start, end=end, weight=weight, sure=one.sure and following.sure)


def _complaints(found: Iterable[Overheard]) -> tuple[tuple[str, float], ...]:
    """What speaks for each complaint: a stretch of the text counts once, by its longest phrase."""
    speaks: dict[str, dict[int, float]] = {}
    for each in found:
        if each.about == COMPLAINT:
            at = speaks.setdefault(each.option, {})
            at[each.start] = max(at.get(each.start, 0.0), each.weight)
    total = {complaint: sum(at.values()) for complaint, at in speaks.items()}
    return tuple(sorted(total.items(), key=lambda item: (-item[1], item[0])))


def _facts(found: Iterable[Overheard]) -> tuple[Overheard, ...]:
    """One answer to each check: what most words speak for, and of these what was said first."""
    best: dict[str, Overheard] = {}
    for each in sorted(found, key=lambda h: (-h.weight, h.start)):
        best.setdefault(each.about, each)
    return tuple(sorted(best.values(), key=lambda h: (h.start, h.about)))


_READY: dict[int, tuple[KnowledgeBase, Listener]] = {}
_MOST_READY = 4


def listener_of(kb: KnowledgeBase) -> Listener:
    """One for each knowledge base: to read all its phrases takes some tenths of a second."""
    base = kb.base or kb
    known, listener = _READY.get(id(base), (None, None))
    if known is not base or listener is None:
        if len(_READY) >= _MOST_READY:
            _READY.clear()
        listener = Listener(base)
        _READY[id(base)] = (base, listener)
    return listener
