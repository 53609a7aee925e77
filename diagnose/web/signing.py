"""What a person who is logged in by name does bears that name, and is done in a role that this person has."""

from collections.abc import Mapping
from dataclasses import replace

from diagnose.errors import SessionError
from diagnose.session.events import Close, Event, Noted, Pictured, Proved, Repaired, Reply, TakeOver, Ticked
from diagnose.session.law import ASKED
from diagnose.session.persons import barred
from diagnose.session.state import Session
from diagnose.web.keeper import LoggedIn
from diagnose.words import say


def with_name(form: Mapping[str, str], person: LoggedIn) -> dict[str, str]:
    """A form in which whoever takes a visit over is who is logged in, whatever it says."""
    own = {"by": person.name} if person.name and form.get("do") == "take_over" else {}
    return {**form, **own}


def signed(event: Event, person: LoggedIn, session: Session) -> Event:
    """The event with the name of who did it. Raises SessionError where this person may not: see session.persons."""
    if not person.name:
        return event
    setup = event.setup if isinstance(event, TakeOver) else session.setup
    if not isinstance(event, Noted) and (why := barred(person.role, setup)):
        raise SessionError(why)
    return _with(event, person.name, session)


def _noted(typed: str, name: str) -> str:
    """Who did it: whoever is logged in, or somebody else by the word of whoever is."""
    return say("session.noted_by", who=typed, by=name) if typed and typed != name else name


def _with(event: Event, name: str, session: Session) -> Event:
    match event:
        case Reply() if event.by or session.setup.role == "help_desk":  # the caller's answer
            return event
        case Repaired():
            return event if event.by and not event.name else replace(event, name=_noted(event.name, name))
        case Close():
            return replace(event, by=_noted(event.by, name)) if "by" in ASKED.get(event.outcome, ()) else event
        case Reply() | Proved() | Ticked() | Noted() | Pictured() | TakeOver():
            return replace(event, by=name)
        case _:
            return event
