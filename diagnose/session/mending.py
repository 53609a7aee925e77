"""Repair, proof, return to service and closing: the transitions after a conclusion."""

from dataclasses import replace

from diagnose.errors import SessionError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Attempt
from diagnose.session.checklist import close_problem
from diagnose.session.events import AnotherFault, Close, Proved, Repaired, Ticked
from diagnose.session.state import Outcome, Repair, Result, Session, Tick

RESULTS: dict[str, Result] = {"pass": "pass", "fail": "fail", "na": "na"}
OUTCOMES: dict[str, Outcome] = {
    "in_service": "in_service",
    "left_out": "left_out",
    "solved_on_phone": "solved_on_phone",
    "dispatched": "dispatched",
}


def repaired(kb: KnowledgeBase, session: Session, event: Repaired) -> Session:
    """A remedy was carried out; its proof is owed next."""
    if event.cause not in kb.causes:
        raise SessionError(f"there is no cause {event.cause!r}")
    if session.pending:
        raise SessionError("the last repair has not been proved yet; say whether its proof passed first")
    return _marked(session, repairs=(*session.repairs, Repair(event.cause, event.note)), concluded=True)


def proved(kb: KnowledgeBase, session: Session, event: Proved) -> Session:
    """The proof of the last repair passed, or failed: then what is left is reasoned about anew."""
    repair = session.pending
    if repair is None:
        raise SessionError("no repair is waiting for its proof")
    done = replace(repair, proof="passed" if event.passed else "failed", reading=event.reading)
    session = _marked(session, repairs=(*session.repairs[:-1], done))
    return session if event.passed else _next_stage(kb, session, repair.cause, surely_mended=False)


def another_fault(kb: KnowledgeBase, session: Session, event: AnotherFault) -> Session:
    """The last repair was good, but something is still wrong; looked for once after each good repair."""
    del event
    if not session.mended:
        raise SessionError("a second fault is looked for once a repair was proved good")
    return _next_stage(kb, _marked(session), session.repairs[-1].cause, surely_mended=True)


def _next_stage(kb: KnowledgeBase, session: Session, cause: str, surely_mended: bool) -> Session:
    """Keep what the repair made obsolete with the attempt; carry on with what still holds."""
    attempt = Attempt(cause, session.answers, session.carried, surely_mended)
    carried = tuple(a for a in session.given if still_holds(kb, a, cause))
    following = replace(session, answers=(), carried=carried, attempts=(*session.attempts, attempt))
    return replace(following, concluded=False, insist=False, mark=0)


def still_holds(kb: KnowledgeBase, answer: Answer, cause: str) -> bool:
    """Whether repairing the cause leaves the answer's meaning untouched: its finding is no sign of the cause."""
    check = kb.checks.get(answer.check)
    return check is not None and (check.finding is None or check.finding.id not in kb.causes[cause].signs)


def ticked(kb: KnowledgeBase, session: Session, event: Ticked) -> Session:
    """One line of the checklist; a second tick of the same item replaces the first."""
    if event.item not in kb.proofs:
        raise SessionError(f"there is no checklist item {event.item!r}; known: {', '.join(kb.proofs)}")
    if event.result not in RESULTS:
        raise SessionError(f"a checklist item is pass, fail or na, not {event.result!r}")
    if event.result == "na" and event.item in kb.settings.protective_proofs and not event.reading.strip():
        raise SessionError("'not applicable' on a protective function needs the reason")
    others = tuple(t for t in session.ticks if t.item != event.item)
    return _marked(session, ticks=(*others, Tick(event.item, RESULTS[event.result], event.reading)))


def closed(kb: KnowledgeBase, session: Session, event: Close) -> Session:
    """End the visit. Refused while something owed is open; 'left out of service' always is possible with a reason."""
    if event.outcome not in OUTCOMES:
        raise SessionError(f"a visit ends as {', '.join(OUTCOMES)}, not {event.outcome!r}")
    if says := close_problem(kb, session, OUTCOMES[event.outcome], event.reason):
        raise SessionError(says)
    return _marked(session, outcome=OUTCOMES[event.outcome], reason=event.reason, concluded=True)


def _marked(session: Session, **changes: object) -> Session:
    following: Session = replace(session, **changes, previous=session)  # type: ignore[arg-type]
    return replace(following, mark=len(following.answers))
