"""How a visit ends, goes on after that, and what is noted beside it."""

from dataclasses import replace
from typing import cast

from diagnose.session import regear
from diagnose.session.events import Close, Noted, Reopen, TakeOver
from diagnose.session.mending import marked
from diagnose.session.state import Ended, Note, NoteKind, Outcome, Session


def ended(session: Session, event: Close | Reopen | TakeOver | Noted) -> Session:
    """The visit after an event that ends it, or may follow on its end."""
    match event:
        case Close():
            return closed(session, event)
        case Reopen():
            return reopened(session)
        case TakeOver():
            return taken_over(session, event)
        case Noted():
            return noted(session, event)


def closed(session: Session, event: Close) -> Session:
    """The end of the visit."""
    outcome = cast(Outcome, event.outcome)
    end = Ended(outcome, event.reason, event.by, event.to, event.due, event.meanwhile)
    return marked(session, end=end, by=session.by or named(event), concluded=True)


def named(event: Close) -> str:
    """Whoever ends the visit gives his own name there, except where the name is of somebody who is still to come."""
    return "" if event.outcome == "proof_owed" else event.by


def reopened(session: Session) -> Session:
    """An ended visit goes on where it ended."""
    return replace(_unended(session), previous=session, mark=len(session.answers))


def taken_over(session: Session, event: TakeOver) -> Session:
    """Somebody else goes on, also with a visit that had ended."""
    setup = regear.geared(event.setup, session.setup.gear)
    return replace(_unended(session), setup=setup, by=event.by, concluded=False)


def _unended(session: Session) -> Session:
    """How it ended is kept, with what was proved for that: lines of the checklist are proved anew."""
    if not session.outcome:
        return session
    ended = replace(session.end, ticks=session.ticks)
    return replace(session, end=Ended(), earlier=(*session.earlier, ended), ticks=())


def noted(session: Session, event: Noted) -> Session:
    """Kept whatever else is taken back."""
    note = Note(event.text, cast(NoteKind, event.kind), event.by or session.by)
    return replace(session, notes=(*session.notes, note))
