"""What may be typed at any prompt of a visit beside an answer: a note for the record, a picture, a hand-over."""

from dataclasses import replace
from pathlib import Path

from diagnose.session.events import Noted, TakeOver
from diagnose.session.state import NoteKind, Session
from diagnose.store.photos import given, made
from diagnose.terminal.ask import Asker
from diagnose.words import say

KINDS: dict[str, NoteKind] = {"note": "remark", "correct": "correction"}


def note_in(command: str, text: str, ask: Asker) -> Noted | None:
    """What is to stand on the record; None where nothing is said. Raises Leave, GoBack."""
    if not text:
        ask.screen.line(say(f"terminal.ask_{command}"))
        text = ask.said()
    return Noted(text, KINDS[command]) if text else None


def picture_in(typed: str, belongs: str, ask: Asker) -> bytes | None:
    """The picture in a file; None where none is named. Raises VisitError, Leave, GoBack."""
    if not typed:
        ask.screen.line(say("terminal.ask_picture", of=belongs))
        typed = ask.said(say("terminal.does_picture"))
    bare = typed.strip().strip("'\"")  # as a file manager drops it on a terminal
    return made(given(Path(bare).expanduser())) if bare else None


def take_over_in(session: Session, ask: Asker) -> TakeOver | None:
    """Who goes on with the visit at the gate; None where nobody is named. Raises Leave, GoBack."""
    ask.screen.line(say("terminal.ask_takeover"))
    if not (name := ask.said()):
        return None
    licensed = ask.agreed(say("terminal.ask_licensed", name=name))
    return TakeOver(replace(session.setup, role="technician", electrician=licensed, tools=None), name)
