"""What was heard in a person's own words, as answers that the person may take, strike out or correct."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from diagnose.hear.reader import HeardText, Overheard, listener_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.events import Reply
from diagnose.session.law import refusal
from diagnose.session.state import Session

LONGEST_QUOTE = 120


@dataclass(frozen=True, slots=True)
class HeardAnswer:
    """One answer that was heard: what would be sent, and whether it was said outright."""

    reply: Reply
    sure: bool


def read(kb: KnowledgeBase, text: str) -> HeardText:
    """Everything the text says, by the knowledge of no gate in particular."""
    return listener_of(kb).read(text)


def offers(kb: KnowledgeBase, session: Session, text: str, heard: HeardText | None = None) -> tuple[HeardAnswer, ...]:
    """The answers in the text that this visit may take and that say something new; `kb` is that of the gate."""
    found = heard or read(kb, text)
    return tuple(_offers(kb, session, text, found.facts))


def _offers(kb: KnowledgeBase, session: Session, text: str, facts: Sequence[Overheard]) -> Iterator[HeardAnswer]:
    for fact in facts:
        check = _here(kb, fact.about)
        given = session.answer(check) if check else None
        if not check or (given and (not given.heard or given.value == fact.option)):
            continue
        quote = " ".join(text[fact.start : fact.end].split())[:LONGEST_QUOTE]
        reply = Reply(check, fact.option, fact.sure, note=quote, heard=True)
        if not refusal(kb, session, reply):
            yield HeardAnswer(reply, fact.sure)


def _here(kb: KnowledgeBase, check: str) -> str:
    """The check at this gate: itself, or that of the only device which has it; '' where there are several."""
    if check in kb.checks:
        return check
    there = [c for c in kb.checks if c.partition("@")[0] == check]
    return there[0] if len(there) == 1 else ""
