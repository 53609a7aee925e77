"""Repair, proof and return to service: what events that the law has let pass make of a visit."""

from dataclasses import replace
from typing import cast

from diagnose.core.stage import told_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Attempt
from diagnose.session.events import Proved, Repaired, Ticked
from diagnose.session.state import Repair, Result, Session, Tick


def repaired(session: Session, event: Repaired) -> Session:
    """A remedy was carried out; its proof is owed next."""
    name = event.name or ("" if event.by else session.by)
    repair = Repair(event.cause, event.note, by=event.by, name=name)
    return marked(session, repairs=(*session.repairs, repair), concluded=True)


def proved(kb: KnowledgeBase, session: Session, event: Proved) -> Session:
    """The proof of the last repair passed, or failed: then what is left is reasoned about anew."""
    *before, repair = session.repairs
    done = replace(repair, proof="passed" if event.passed else "failed", reading=event.reading)
    session = marked(session, repairs=(*before, done))
    return session if event.passed else _next_stage(kb, session, repair.cause, surely_mended=False)


def another_fault(kb: KnowledgeBase, session: Session) -> Session:
    """The last repair was good, but something is still wrong."""
    return _next_stage(kb, marked(session), session.repairs[-1].cause, surely_mended=True)


def _next_stage(kb: KnowledgeBase, session: Session, cause: str, surely_mended: bool) -> Session:
    """A new stage of the visit. What was found before stays; what a proved repair mended is not so any more."""
    attempt = Attempt(cause, session.answers, session.lasting, surely_mended)
    carried = session.given if not surely_mended else tuple(a for a in session.given if still_holds(kb, a, cause))
    numbered = tuple(c for c in session.order if any(a.check == c for a in carried))
    following = replace(
        session, answers=(), carried=carried, numbered=numbered, attempts=(*session.attempts, attempt)
    )
    return replace(following, concluded=False, insist=False, mark=0)


def still_holds(kb: KnowledgeBase, answer: Answer, cause: str) -> bool:
    """Whether the answer is as true without the cause."""
    return answer.check in kb.checks and answer.check not in told_of(kb, cause)


def ticked(session: Session, event: Ticked) -> Session:
    """One line of the checklist; a second tick of the same item replaces the first."""
    others = tuple(t for t in session.ticks if t.item != event.item)
    return marked(session, ticks=(*others, Tick(event.item, cast(Result, event.result), event.reading)))


def marked(session: Session, **changes: object) -> Session:
    following: Session = replace(session, **changes, previous=session)  # type: ignore[arg-type]
    return replace(following, mark=len(following.answers))
