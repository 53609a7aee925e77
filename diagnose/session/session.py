"""Session and its one transition function. Everything that affects state lives in this file."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from diagnose.calc.units import format_reading
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import SessionError
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import NO_ANSWER, Answer, Setup, Value
from diagnose.session.events import AskOn, Back, Begin, Complain, Conclude, Event, Reply


@dataclass(frozen=True, slots=True)
class Session:
    """A visit so far; what follows from the answers is recomputed.

    `concluded` once the user asked for it; `insist` while the user wants one more check than pays.
    """

    setup: Setup
    complaint: str
    words: str = ""
    site: str = ""
    digest: str = ""
    answers: tuple[Answer, ...] = ()
    concluded: bool = False
    insist: bool = False

    def answer(self, check: str) -> Answer | None:
        return next((a for a in self.answers if a.check == check), None)


def step(kb: KnowledgeBase, session: Session | None, event: Event) -> Session:
    """The session after the event. Raises SessionError, and changes nothing, when it is not allowed."""
    if isinstance(event, Begin):
        return _begin(kb, session, event)
    if session is None:
        raise SessionError("the visit has not begun")
    match event:
        case Reply():
            return _reply(kb, session, event)
        case Back():
            if not session.answers:
                raise SessionError("there is no answer to take back")
            return replace(session, answers=session.answers[:-1], concluded=False)
        case Complain():
            _known_complaint(kb, event.complaint)
            return replace(session, complaint=event.complaint, concluded=False)
        case Conclude():
            return replace(session, concluded=True, insist=False)
        case AskOn():
            return replace(session, concluded=False, insist=True)


def replay(kb: KnowledgeBase, events: Iterable[Event]) -> Session:
    """Fold the events. Raises SessionError at the first that is not allowed."""
    session: Session | None = None
    for event in events:
        session = step(kb, session, event)
    if session is None:
        raise SessionError("the visit has no events")
    return session


def conclude(reasoner: Reasoner, session: Session) -> Conclusion:
    """What follows from the session now."""
    return reasoner.conclude(session.setup, session.complaint, session.answers, session.insist)


def _begin(kb: KnowledgeBase, session: Session | None, event: Begin) -> Session:
    if session is not None:
        raise SessionError("the visit has begun already")
    _known_complaint(kb, event.complaint)
    if wrong := [d for d in event.setup.devices if d not in kb.devices]:
        raise SessionError(f"unknown sensor kind {wrong[0]!r}; known: {', '.join(kb.devices)}")
    return Session(event.setup, event.complaint, event.words, event.site, event.digest)


def _known_complaint(kb: KnowledgeBase, complaint: str) -> None:
    if complaint not in kb.complaints:
        raise SessionError(f"unknown complaint {complaint!r}; known: {', '.join(kb.complaints)}")


def _reply(kb: KnowledgeBase, session: Session, event: Reply) -> Session:
    check = kb.checks.get(event.check)
    if check is None:
        raise SessionError(f"there is no check {event.check!r}")
    require_value(check, event.value)
    answer = Answer(event.check, event.value, event.sure, event.by, event.note)
    if session.answer(event.check):
        changed = tuple(answer if a.check == event.check else a for a in session.answers)
        return replace(session, answers=changed, concluded=False, insist=False)
    return replace(session, answers=(*session.answers, answer), concluded=False, insist=False)


def require_value(check: Check, value: Value) -> None:
    """Raises SessionError unless the check can be answered with this value."""
    if value in NO_ANSWER:
        return
    if check.kind == "quantity":
        low, high = check.hard or (float("-inf"), float("inf"))
        if isinstance(value, str) or not low <= value <= high:
            limits = f"{format_reading(low, check.unit)} and {format_reading(high, check.unit)}"
            raise SessionError(f"{check.id}: {value!r} is not a number between {limits}")
    elif value not in answers_of(check):
        raise SessionError(f"{check.id}: {value!r} is not one of {', '.join(sorted(answers_of(check)))}")
