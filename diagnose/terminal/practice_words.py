"""What a trainee types: commands; and about causes -> ids and probabilities."""

import re
from collections.abc import Sequence

from diagnose.errors import AnswerError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.moves import Beliefs
from diagnose.session.parse import spoken_for
from diagnose.words import say

COMMANDS = (
    "list",
    "suspect",
    "causes",
    "parts",
    "answers",
    "cautions",
    "hint",
    "repair",
    "prove",
    "close",
    "what",
    "help",
    "back",
    "leave",
)

_SAID = re.compile(r"(?P<cause>.*?)\s*[:= ]\s*(?P<percent>[0-9]{1,3}(?:[.,][0-9]+)?)\s*%?$")


def stated_beliefs(kb: KnowledgeBase, causes: Sequence[str], listed: Sequence[str], typed: str) -> Beliefs:
    """'c2 60, wet window 20' -> causes with probabilities; percentages. Raises AnswerError."""
    said: dict[str, float] = {}
    for part in filter(None, (p.strip() for p in re.split(r"[,;]\s+|[,;]$", typed))):
        match = _SAID.match(part)
        if match is None:
            raise AnswerError(say("practice.lacks_percentage", typed=part[:30]))
        percent = float(match["percent"].replace(",", "."))
        if percent > 100:
            raise AnswerError(say("practice.no_percentage"))
        said[one_cause(kb, causes, listed, match["cause"])] = percent / 100.0
    return tuple(said.items())


def named_causes(kb: KnowledgeBase, causes: Sequence[str], listed: Sequence[str], typed: str) -> tuple[str, ...]:
    """'c2, wet window' -> causes. Raises AnswerError."""
    parts = [p.strip() for p in re.split("[,;]", typed) if p.strip()]
    return tuple(dict.fromkeys(one_cause(kb, causes, listed, p) for p in parts))


def one_cause(kb: KnowledgeBase, causes: Sequence[str], listed: Sequence[str], typed: str) -> str:
    """A cause by its number in the last list ('c2'), its id, or words that only one cause has. Raises AnswerError."""
    lowered = typed.casefold().strip()
    if re.fullmatch("c[0-9]{1,3}", lowered) and 1 <= int(lowered[1:]) <= len(listed):
        return listed[int(lowered[1:]) - 1]
    if lowered in causes:
        return lowered
    begun = [re.compile(rf"\b{re.escape(word)}") for word in lowered.split()]
    hits = [c for c in causes if begun and all(b.search(kb.causes[c].says.casefold()) for b in begun)]
    if len(hits) == 1:
        return hits[0]
    if not hits:
        raise AnswerError(say("practice.no_cause_says", typed=typed[:30]))
    fits = "; ".join(kb.causes[c].says for c in hits[:3])
    raise AnswerError(say("practice.fits_several", typed=typed[:30], causes=fits))


def word(command: str) -> str:
    """What a person types for a command."""
    return spoken_for(f"practice.words_{command}")[0]


def command_in(typed: str) -> tuple[str, str]:
    """(command, what follows it); ('', '') when the line is none."""
    first, _, rest = typed.strip().partition(" ")
    found = (c for c in COMMANDS if first.casefold() in spoken_for(f"practice.words_{c}"))
    command = next(found, "")
    return (command, rest.strip()) if command else ("", "")
