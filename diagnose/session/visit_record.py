"""A session with its times -> what the history keeps of the visit."""

from collections.abc import Sequence

from diagnose.model.gear import plain
from diagnose.model.history import State, VisitEnd, VisitRecord
from diagnose.session.state import SERVING, Session


def visit_record(name: str, session: Session, times: Sequence[str], entries: int = 0) -> VisitRecord:
    """The record of one visit file; `times` are ISO 8601, one per event, never empty.

    `name` identifies visits from before they carried an id of their own; `entries` is the number of the last one.
    """
    over = session.outcome not in ("", "proof_owed")  # a proof that is owed keeps the visit open
    state: State = "finished" if over else "concluded" if session.concluded else "open"
    return VisitRecord(
        id=session.id or name,
        began=times[0],
        ended=times[-1] if over else "",
        changed=times[-1],
        entries=entries or len(times),
        site=session.site,
        devices=session.setup.devices,
        role=session.setup.role,
        complaint=session.complaint,
        words=session.words,
        knowledge=session.digest,
        state=state,
        answers=session.given,
        outcome=_outcome(session) if session.outcome else None,
    )


def _outcome(session: Session) -> VisitEnd:
    """Only repairs whose proof passed count as confirmed causes, whichever device they were at."""
    good = [r for r in session.repairs if r.proof == "passed"]
    return VisitEnd(
        causes=tuple(dict.fromkeys(plain(r.cause) for r in good)),
        remedy="; ".join(r.note for r in good if r.note),
        proof_passed=bool(good) and not session.pending,
        in_service=session.outcome in SERVING,
        note=session.reason,
    )
