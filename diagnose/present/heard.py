"""What was heard in a person's words, in short lines to be taken, struck out or asked about."""

from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.session.events import Reply
from diagnose.session.hearing import HeardAnswer, offers, read
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Listened:
    """`lines` say what was heard, each with the reply that takes it; `dangers` what is asked about first."""

    lines: tuple[tuple[str, Reply], ...]
    dangers: tuple[str, ...]

    def left(self, struck: frozenset[int]) -> tuple[Reply, ...]:
        """The replies of the lines that were not struck out; lines are numbered from 1."""
        return tuple(reply for number, (_, reply) in enumerate(self.lines, start=1) if number not in struck)


def listened(kb: KnowledgeBase, session: Session, text: str) -> Listened:
    """What this visit can take from the text."""
    heard = read(kb, text)
    lines = tuple((_line(kb, session, o), o.reply) for o in offers(kb, session, text, heard))
    dangers = (say("present.heard_danger", words=_quoted(text[d.start : d.end])) for d in heard.dangers)
    return Listened(lines, tuple(dangers))


def _line(kb: KnowledgeBase, session: Session, offered: HeardAnswer) -> str:
    reply, check = offered.reply, kb.checks[offered.reply.check]
    said = answer_says(check, Answer(reply.check, reply.value), session.setup.role)
    key = "present.heard_line" if offered.sure else "present.heard_perhaps"
    return say(key, asked=ask_text(check, session.setup.role), said=said, words=reply.note)


def _quoted(text: str) -> str:
    return " ".join(text.split())
