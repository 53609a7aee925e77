"""Session and its one transition function: what the law lets pass, and what it makes of the visit."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from diagnose.core.ground import ground
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import SessionError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import CALLER, Answer, Earlier, Setup
from diagnose.session import ending, mending, photos, regear
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Begin,
    Close,
    Complain,
    Conclude,
    Event,
    Named,
    Noted,
    Pictured,
    Proved,
    Reopen,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
    word_of,
)
from diagnose.session.grounds import misfit, unknown_device
from diagnose.session.law import LAW, UNFIT, refusal
from diagnose.session.state import Session
from diagnose.words import say

BY_CALLER = CALLER
BY_TECHNICIAN = "technician"


def step(kb: KnowledgeBase, session: Session | None, event: Event) -> Session:
    """The session after the event. Raises SessionError, and changes nothing, when the law does not allow it."""
    kb = kb_of(kb, session)
    if no := refusal(kb, session, event):
        raise SessionError(no.says)
    return _after(kb, session, event)


def kb_of(kb: KnowledgeBase, session: Session | None) -> KnowledgeBase:
    """The knowledge for the gate of the visit."""
    return ground(kb, session.setup.gear if session else ())


def _after(kb: KnowledgeBase, session: Session | None, event: Event) -> Session:
    """The session after an event that may follow."""
    if isinstance(event, Begin):
        setup = regear.geared(event.setup)
        return Session(setup, event.complaint, event.words, event.site, event.digest, event.id, by=event.by.strip())
    assert session is not None
    match event:
        case Reply():
            return _placed(session, event)
        case Back():
            return _back(session)
        case Complain():
            return replace(session, complaint=event.complaint, concluded=False)
        case Conclude():
            return replace(session, concluded=True, insist=False)
        case AskOn():
            return replace(session, concluded=False, insist=True)
        case Named():
            return regear.regeared(kb, session, event)
        case Pictured():
            return photos.pictured(session, event)
        case Close() | Reopen() | TakeOver() | Noted():
            return ending.ended(session, event)
        case _:
            return _mend(kb, session, event)


def _mend(kb: KnowledgeBase, session: Session, event: Repaired | Proved | AnotherFault | Ticked) -> Session:
    match event:
        case Repaired():
            return mending.repaired(session, event)
        case Proved():
            return mending.proved(kb, session, event)
        case AnotherFault():
            return mending.another_fault(kb, session)
        case Ticked():
            return mending.ticked(session, event)


def _back(session: Session) -> Session:
    """Without the last answer; or as it was before the last step of mending, when no answer came since.

    Whoever has the visit now keeps it: going back over a hand-over gives nobody another's licence. Notes and
    pictures stay.
    """
    if session.previous is not None and len(session.answers) <= session.mark:
        stay = {"setup": session.setup, "by": session.by, "notes": session.notes, "photos": session.photos}
        return replace(session.previous, **stay)  # type: ignore[arg-type]
    return replace(session, answers=session.answers[:-1], concluded=False)


def replay(kb: KnowledgeBase, events: Iterable[Event]) -> Session:
    """Fold the events. Raises SessionError at the first that is not allowed."""
    session: Session | None = None
    for event in events:
        session = step(kb, session, event)
    if session is None:
        raise SessionError(say("session.no_events"))
    return session


def salvage(kb: KnowledgeBase, events: Iterable[Event]) -> tuple[Session, tuple[str, ...]]:
    """Fold a file of other knowledge or of an earlier law, and tell what was left out of it, and what only kept.

    Raises SessionError when the opening itself cannot be used.
    """
    session: Session | None = None
    told: list[str] = []
    kept: dict[Answer, str] = {}
    for event in opened(kb, events, told):
        kb = kb_of(kb, session)
        no = refusal(kb, session, event)
        if no and session is None:
            raise SessionError(no.says)
        if no and no.key not in (*UNFIT, *LAW[word_of(event)].kept):
            told.append(say("session.left_out", says=no.says))
            continue
        session = _after(kb, session, event)
        if no and not isinstance(event, Reply):
            told.append(say("session.kept", says=no.says))
        elif no and no.key not in UNFIT:
            kept[session.answers[-1]] = say("session.kept", says=no.says)
    if session is None:
        raise SessionError(say("session.no_events"))
    return _fitting(kb, session), (*told, *_of_answers(kb_of(kb, session), _everything(session), kept))


def opened(kb: KnowledgeBase, events: Iterable[Event], told: list[str]) -> Iterator[Event]:
    """The events; where the opening is lost, with one in its place that grants nothing and vouches for nothing."""
    for n, event in enumerate(events):
        if not n and not isinstance(event, Begin):
            told.append(say("session.opening_lost"))
            yield Begin(Setup("help_desk"), next(iter(kb.complaints)))
        yield event


def _of_answers(kb: KnowledgeBase, answers: Iterable[Answer], kept: Mapping[Answer, str]) -> Iterator[str]:
    """What is told of answers; in the end, so that Back takes back what it took back then."""
    for answer in dict.fromkeys(answers):
        if no := misfit(kb, answer.check, answer.value):
            yield say("session.left_out", says=no.says)
        elif answer in kept:
            yield kept[answer]


def _everything(session: Session) -> tuple[Answer, ...]:
    """Every answer that holds, and every one that a repair made obsolete."""
    return (*session.given, *(a for t in session.attempts for a in (*t.carried, *t.answers)))


def _fitting(kb: KnowledgeBase, session: Session) -> Session:
    """The session, and each one that Back returns to, with those answers only that the knowledge allows."""
    kb = kb_of(kb, session)

    def kept(answers: tuple[Answer, ...]) -> tuple[Answer, ...]:
        return tuple(a for a in answers if not misfit(kb, a.check, a.value))

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
    return reasoner.at(session.setup.gear).conclude(
        session.setup,
        session.complaint,
        session.answers,
        insist=session.insist,
        attempts=session.attempts,
        carried=session.lasting,
    )


def require_devices(kb: KnowledgeBase, devices: Iterable[str]) -> None:
    """Raises SessionError at a sensor kind that the knowledge does not know."""
    if no := unknown_device(kb, devices):
        raise SessionError(no.says)


def _placed(session: Session, event: Reply) -> Session:
    """The answer at the end, also when it replaces one: order says what was known when 'made safe' was said.

    Its number stays that of the first answer to the check.
    """
    before = session.answer(event.check)
    by = event.by or _answering(session)
    now = Answer(event.check, event.value, event.sure, by, event.note, heard=event.heard)
    differs = before and before.by != by and before.told != now.told
    replaced = (
        Earlier(before.value, before.by, before.told[1])
        if before and differs
        else before.replaced
        if before
        else None
    )
    confirmed = before is not None and before.value == event.value and not event.heard
    answer = replace(now, replaced=replaced, confirmed=confirmed)
    others = tuple(a for a in session.answers if a.check != event.check)
    order = dict.fromkeys((*session.order, event.check))
    return replace(session, answers=(*others, answer), numbered=tuple(order), concluded=False, insist=False)


def _answering(session: Session) -> str:
    """Who answers, where the answer itself does not say."""
    if session.setup.role == "help_desk":
        return BY_CALLER
    return session.by if session.by and not session.by.startswith(BY_CALLER) else BY_TECHNICIAN
