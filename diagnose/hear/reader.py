"""A text -> what was heard in it. JavaScript twin: hear.js."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from diagnose.hear.phrases import Item, Match, Phrase, matches, phrase_of, senses
from diagnose.hear.text import Clause, clauses, holds, stems
from diagnose.model.heard import COMPLAINT, DANGER, Hearing
from diagnose.model.knowledge import KnowledgeBase

GUESSED = 0.5  # of the weight of what is said outright


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


class Listener:
    """Every phrase of a knowledge base, ready to listen."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._speech = kb.speech
        self._phrases: Sequence[tuple[str, str, Phrase]] = [
            (about, option, phrase_of(kb.speech, text, hearing.lists))
            for about, hearing in kb.heard.items()
            for option, texts in hearing.options.items()
            for text in texts
        ]
        self._elsewhere: Mapping[str, Item] = {
            about: frozenset(w for each in hearing.elsewhere for w in stems(kb.speech, each))
            for about, hearing in kb.heard.items()
        }
        self._heard = kb.heard
        small = frozenset(w for text in kb.speech.supposes for w in stems(kb.speech, text))
        spelt = (item for _, _, phrase in self._phrases for item in phrase.items)
        self._known = small.union(*spelt, *self._elsewhere.values())

    def read(self, text: str) -> HeardText:
        """What the text says. Nothing is heard where it is denied, asked, or only supposed."""
        found = [heard for clause in clauses(self._speech, text) for heard in self._in(clause)]
        facts = [h for h in found if h.about not in (COMPLAINT, DANGER)]
        dangers = {h.option: h for h in reversed(found) if h.about == DANGER}
        return HeardText(_complaints(found), _facts(facts), tuple(sorted(dangers.values(), key=lambda h: h.start)))

    def _in(self, clause: Clause) -> Iterator[Overheard]:
        meant = senses(clause, self._known)
        silent = {each.id for each in self._heard.values() if _silent(each, clause)}
        for about, option, phrase in self._phrases:
            if about in silent:
                continue
            for match in matches(phrase, clause, meant, self._elsewhere[about]):
                yield _heard(about, option, match, clause)


def _silent(hearing: Hearing, clause: Clause) -> bool:
    """What is only supposed or long past says nothing; a question states no fact, though it may tell of a danger."""
    habit = bool(hearing.mere) and clause.said.startswith("if ") and not holds(clause.said, hearing.mere)
    if clause.supposed and not habit:
        return True
    return (clause.question and hearing.id != DANGER) or holds(clause.said, hearing.settled)


def _heard(about: str, option: str, match: Match, clause: Clause) -> Overheard:
    taken = [clause.words[k] for k in match.places]
    weight = len(taken) * (GUESSED if clause.guessed else 1.0)
    return Overheard(about, option, taken[0].start, taken[-1].end, weight, not clause.guessed)


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
