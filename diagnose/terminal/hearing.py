"""What was heard in the words that were typed, to be taken or struck out. Nothing is taken silently."""

import re
from typing import Protocol

from diagnose.core.reason import Reasoner
from diagnose.model.visit import SOMETHING_ELSE
from diagnose.present.heard import Listened, listened
from diagnose.session.events import Event, Reply
from diagnose.session.parse import in_words, yes_or_no
from diagnose.session.state import Session
from diagnose.terminal.ask import Asker, GoBack
from diagnose.terminal.reader import HEARD
from diagnose.words import say


class Listening(Protocol):
    """The visit on which something was said."""

    reasoner: Reasoner
    session: Session
    asker: Asker

    def send(self, event: Event) -> bool:
        """Whether the event was put on disk; the session has moved on then."""


def hear(visit: Listening, text: str) -> bool:
    """Take what the person lets stand of what was heard in the text; whether that changed the visit. Raises Leave."""
    heard = listened(visit.reasoner.kb, visit.session, text)
    try:
        replies = taken(heard, visit.asker)
    except GoBack:
        return False
    sent = sum(visit.send(reply) for reply in replies)
    if sent:
        visit.asker.screen.line(say("terminal.heard_taken", n=sent))
    return sent > 0


def hears_nothing(visit: Listening, text: str) -> bool:
    """Whether the visit can take no answer from the text."""
    return not listened(visit.reasoner.kb, visit.session, text).lines


def told_in(visit: Listening, text: str) -> bool:
    """What is told beside the answers, typed behind the command or asked for. Raises Leave, GoBack."""
    if not text:
        visit.asker.screen.line(say("terminal.ask_tell"))
        text = visit.asker.said()
    if text and hears_nothing(visit, text):
        visit.asker.screen.line(say("terminal.heard_nothing"))
    return hear(visit, text)


def kept_words(visit: Listening, check: str, typed: str) -> tuple[bool, str]:
    """Words that are no answer: whether they are kept as one, and what was said instead of yes or no.

    Raises Leave, GoBack.
    """
    if not in_words(typed):
        return False, ""
    agreed, said = visit.asker.agreed_or_said(say("terminal.keep_words"), check)
    return agreed and visit.send(Reply(check, SOMETHING_ELSE, note=typed)), said


def sent_and_heard(visit: Listening, reply: Reply) -> bool:
    """Send an answer, and take what else is heard in its words; whether it was sent. Raises Leave."""
    sent = visit.send(reply)
    if sent and reply.note:
        hear(visit, reply.note)
    return sent


def taken(listened: Listened, ask: Asker) -> tuple[Reply, ...]:
    """The replies that the person lets stand. Raises Leave, GoBack."""
    for danger in listened.dangers:
        ask.screen.line(danger, "bold")
    if not listened.lines:
        return ()
    ask.screen.line()
    ask.screen.line(say("present.heard"), "bold")
    ask.screen.numbered(says for says, _ in listened.lines)
    ask.screen.line(say("terminal.heard_how"))
    while True:
        typed = ask.said(say("terminal.heard_how"), topic=HEARD)
        if (struck := _struck(typed, len(listened.lines))) is not None:
            return listened.left(struck)
        ask.screen.line(say("terminal.heard_how"))


def _struck(typed: str, most: int) -> frozenset[int] | None:
    """The numbers to strike out; None where the line says something else."""
    if yes_or_no(typed) == "no":
        return frozenset(range(1, most + 1))
    if yes_or_no(typed) == "yes":
        return frozenset()
    parts = [part for part in re.split(r"[\s,;]+", typed) if part]
    numbers = [int(part) for part in parts if part.isascii() and part.isdigit() and len(part) < 4]
    fits = len(numbers) == len(parts) and all(1 <= n <= most for n in numbers)
    return frozenset(numbers) if fits else None
