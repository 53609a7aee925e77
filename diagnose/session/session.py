"""Session and its one transition function. Everything that affects state lives in this file."""

from collections.abc import Iterable
from dataclasses import replace

from diagnose.calc.units import format_reading
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import SessionError
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import CALLER, NO_ANSWER, Answer, Value
from diagnose.session import mending
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Begin,
    Close,
    Complain,
    Conclude,
    Event,
    Proved,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.state import Session

BY_CALLER = f"{CALLER}, by eye"
BY_TECHNICIAN = "technician"


def step(kb: KnowledgeBase, session: Session | None, event: Event) -> Session:
    """The session after the event. Raises SessionError, and changes nothing, when it is not allowed."""
    if isinstance(event, Begin):
        return _begin(kb, session, event)
    if session is None:
        raise SessionError("the visit has not begun")
    if session.outcome and not isinstance(event, Back | TakeOver):
        raise SessionError("the visit is closed; 'back' opens it again")
    match event:
        case Reply():
            return _reply(kb, session, event)
        case Back():
            return _back(session)
        case Complain():
            _known_complaint(kb, event.complaint)
            return replace(session, complaint=event.complaint, concluded=False)
        case Conclude():
            return replace(session, concluded=True, insist=False)
        case AskOn():
            return replace(session, concluded=False, insist=True)
        case TakeOver():
            require_devices(kb, event.setup.devices)
            return replace(session, setup=event.setup, concluded=False, outcome="", reason="")
        case _:
            return _mend(kb, session, event)


def _mend(kb: KnowledgeBase, session: Session, event: Repaired | Proved | AnotherFault | Ticked | Close) -> Session:
    match event:
        case Repaired():
            return mending.repaired(kb, session, event)
        case Proved():
            return mending.proved(kb, session, event)
        case AnotherFault():
            return mending.another_fault(kb, session, event)
        case Ticked():
            return mending.ticked(kb, session, event)
        case Close():
            return mending.closed(kb, session, event)


def _back(session: Session) -> Session:
    """Without the last answer; or as it was before the last step of mending, when no answer came since."""
    if session.previous is not None and len(session.answers) <= session.mark:
        return session.previous
    if not session.answers:
        raise SessionError("there is no answer to take back")
    return replace(session, answers=session.answers[:-1], concluded=False)


def replay(kb: KnowledgeBase, events: Iterable[Event]) -> Session:
    """Fold the events. Raises SessionError at the first that is not allowed."""
    session: Session | None = None
    for event in events:
        session = step(kb, session, event)
    if session is None:
        raise SessionError("the visit has no events")
    return session


def salvage(kb: KnowledgeBase, events: Iterable[Event]) -> tuple[Session, tuple[str, ...]]:
    """Fold what the present knowledge still allows, and say why each other event was left out.

    For visits kept from other knowledge. Raises SessionError when the opening itself cannot be used.
    """
    session: Session | None = None
    left_out: list[str] = []
    for event in events:
        if session is not None and isinstance(event, Reply):
            session = _placed(session, event)  # judged in the end, so that Back takes back what it took back then
            continue
        try:
            session = step(kb, session, event)
        except SessionError as error:
            if session is None:
                raise
            left_out.append(str(error))
    if session is None:
        raise SessionError("the visit has no events")
    wrong = {a: says for a in _everything(session) if (says := reply_problem(kb, a.check, a.value))}
    return _fitting(kb, session), (*left_out, *wrong.values())


def _everything(session: Session) -> tuple[Answer, ...]:
    """Every answer that holds, and every one that a repair made obsolete."""
    return (*session.given, *(a for t in session.attempts for a in (*t.carried, *t.answers)))


def _fitting(kb: KnowledgeBase, session: Session) -> Session:
    """The session, and each one that Back returns to, with those answers only that the knowledge allows."""

    def kept(answers: tuple[Answer, ...]) -> tuple[Answer, ...]:
        return tuple(a for a in answers if not reply_problem(kb, a.check, a.value))

    chain = [session]
    while before := chain[-1].previous:
        chain.append(before)
    for each in reversed(chain):
        tried = tuple(replace(t, answers=kept(t.answers), carried=kept(t.carried)) for t in each.attempts)
        fits = replace(each, answers=kept(each.answers), carried=kept(each.carried), attempts=tried)
        before = replace(fits, previous=before, mark=len(kept(each.answers[: each.mark])))
    assert before
    return before


def conclude(reasoner: Reasoner, session: Session) -> Conclusion:
    """What follows from the session now."""
    return reasoner.conclude(
        session.setup, session.complaint, session.answers, session.insist, session.attempts, session.carried
    )


def _begin(kb: KnowledgeBase, session: Session | None, event: Begin) -> Session:
    if session is not None:
        raise SessionError("the visit has begun already")
    _known_complaint(kb, event.complaint)
    require_devices(kb, event.setup.devices)
    return Session(event.setup, event.complaint, event.words, event.site, event.digest, event.id)


def require_devices(kb: KnowledgeBase, devices: Iterable[str]) -> None:
    """Raises SessionError at a sensor kind that the knowledge does not know."""
    if wrong := [d for d in devices if d not in kb.devices]:
        raise SessionError(f"unknown sensor kind {wrong[0]!r}; known: {', '.join(kb.devices)}")


def _known_complaint(kb: KnowledgeBase, complaint: str) -> None:
    if complaint not in kb.complaints:
        raise SessionError(f"unknown complaint {complaint!r}; known: {', '.join(kb.complaints)}")


def _reply(kb: KnowledgeBase, session: Session, event: Reply) -> Session:
    if says := reply_problem(kb, event.check, event.value):
        raise SessionError(says)
    return _placed(session, event)


def _placed(session: Session, event: Reply) -> Session:
    """The answer at the end, also when it replaces one: order says what was known when 'made safe' was said."""
    before = session.answer(event.check)
    by = event.by or (BY_CALLER if session.setup.role == "help_desk" else BY_TECHNICIAN)
    replaced = f"{before.value} ({before.by})" if before and before.by != by and before.value != event.value else ""
    answer = Answer(
        event.check, event.value, event.sure, by, event.note, replaced or (before.replaced if before else "")
    )
    others = tuple(a for a in session.answers if a.check != event.check)
    carried = tuple(a for a in session.carried if a.check != event.check)
    return replace(session, answers=(*others, answer), carried=carried, concluded=False, insist=False)


def reply_problem(kb: KnowledgeBase, name: str, value: Value) -> str:
    """Why a check cannot be answered with this value, or ''."""
    check = kb.checks.get(name)
    if check is None:
        return f"there is no check {name!r}"
    if value in NO_ANSWER:
        return ""
    if check.kind != "quantity":
        words = sorted(answers_of(check))
        return "" if value in words else f"{name}: {value!r} is not one of {', '.join(words)}"
    low, high = check.hard or (float("-inf"), float("inf"))
    if not isinstance(value, str) and low <= value <= high:
        return ""
    limits = f"{format_reading(low, check.unit)} and {format_reading(high, check.unit)}"
    return f"{name}: {value!r} is not a number between {limits}"
