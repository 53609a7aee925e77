"""Explain mode: a visit event by event, each with the belief before and after it, so that bars can move."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from diagnose.core.posterior import Belief
from diagnose.core.reason import Reasoner
from diagnose.errors import SessionError
from diagnose.measure.simulate import entropy
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.events import Begin, Complain, Event, Proved, Repaired, Reply
from diagnose.session.session import conclude, kb_of, step
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say

SHOWN = 5


@dataclass(frozen=True, slots=True)
class Bar:
    """A cause with its probability before and after."""

    cause: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Frame:
    """`happened` in words; `bits` of uncertainty taken away (negative: more open than before)."""

    happened: str
    bars: tuple[Bar, ...]
    bits: float
    stop_work: tuple[str, ...]


def frames(
    reasoner: Reasoner, events: Iterable[Event], most: int = SHOWN, tell: Callable[[str], None] | None = None
) -> Iterator[Frame]:
    """One frame per event that says something. An event that is not allowed is left out and told.

    Raises SessionError at one where nobody is to be told.
    """
    session: Session | None = None
    before: Belief | None = None
    for event in events:
        try:
            session = step(reasoner.kb, session, event)
        except SessionError as error:
            if tell is None or session is None:
                raise
            tell(say("session.left_out", says=error))
            continue
        says = happened(kb_of(reasoner.kb, session), session, event)
        conclusion = conclude(reasoner, session)
        if says:
            yield Frame(says, *_moved(before or conclusion.belief, conclusion.belief, most), conclusion.stop_work)
        before = conclusion.belief


def _moved(before: Belief, after: Belief, most: int) -> tuple[tuple[Bar, ...], float]:
    """The causes that lead now, and the one that led before where it is gone."""
    names = dict.fromkeys([c for c, _ in after.ranked()[:most]] + [before.ranked()[0][0]])
    bars = tuple(Bar(c, before.probability(c), after.probability(c)) for c in names)
    return bars, entropy(before) - entropy(after)


def happened(kb: KnowledgeBase, session: Session, event: Event) -> str:
    """The event in words, or '' when it changes no belief."""
    match event:
        case Begin() | Complain():
            return say("practice.event_complaint", complaint=kb.complaints[event.complaint].says)
        case Reply():
            answer = session.answer(event.check)
            role = session.setup.role
            said = answer_says(kb.checks[event.check], answer, role) if answer else ""
            return say("present.answered", asked=ask_text(kb.checks[event.check], role), said=said)
        case Repaired():
            return say("practice.event_repaired", cause=kb.causes[event.cause].says)
        case Proved():
            return say("practice.event_passed") if event.passed else say("practice.event_failed")
        case _:
            return ""
