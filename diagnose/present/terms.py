"""The trade's words, explained wherever they stand on the screen."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import Term
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Meaning:
    """A word with what it means; `link` of the chain that it belongs to, '' for none."""

    id: str
    says: str
    means: str
    link: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a text; `term` is the id of the word that it is, '' for the text between."""

    says: str
    term: str


def meanings(kb: KnowledgeBase) -> tuple[Meaning, ...]:
    """Every word, by the alphabet."""
    return tuple(_meaning(kb, term) for term in sorted(kb.terms.values(), key=lambda t: t.says.casefold()))


def meant(kb: KnowledgeBase, words: str) -> tuple[Meaning, ...]:
    """What a person asks for: the word itself, else the words in what was typed, else those that begin so."""
    typed = " ".join(words.casefold().split())
    same = [t for t in kb.terms.values() if typed in _forms(t)]
    within = [kb.terms[p.term] for p in glossed(kb, typed) if p.term]
    begun = [t for t in kb.terms.values() if len(typed) > 2 and any(f.startswith(typed) for f in _forms(t))]
    return tuple(_meaning(kb, term) for term in dict.fromkeys(same or within or begun))


def used_in(kb: KnowledgeBase, texts: Iterable[str]) -> tuple[str, ...]:
    """The words of the trade that stand in some texts, each once."""
    found = (p.term for text in texts for p in glossed(kb, text) if p.term)
    return tuple(kb.terms[term].says for term in dict.fromkeys(found))


def glossed(kb: KnowledgeBase, text: str) -> tuple[Piece, ...]:
    """A text cut at the words of the trade; together the pieces are the text."""
    if not kb.terms:
        return (Piece(text, ""),)
    pattern, found = _pattern(tuple((t.id, _forms(t)) for t in kb.terms.values()))
    pieces = pattern.split(text)
    return tuple(
        Piece(says, found.get(says.casefold(), "") if n % 2 else "") for n, says in enumerate(pieces) if says
    )


def _forms(term: Term) -> tuple[str, ...]:
    return tuple(w.casefold() for w in (term.says, *term.words))


@lru_cache(maxsize=4)
def _pattern(forms: tuple[tuple[str, tuple[str, ...]], ...]) -> tuple[re.Pattern[str], dict[str, str]]:
    """Longer words first, so that 'test pulse' is not cut at 'pulse'."""
    found = {word: term for term, words in forms for word in words}
    longest = sorted(found, key=lambda word: (-len(word), word))
    return re.compile(rf"\b({'|'.join(map(re.escape, longest))})\b", re.IGNORECASE), found


def _meaning(kb: KnowledgeBase, term: Term) -> Meaning:
    link = say("practice.term_link", link=kb.links[term.link].says) if term.link in kb.links else ""
    return Meaning(term.id, term.says, term.means, link)
