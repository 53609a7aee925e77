"""A session with its times -> what the history keeps of the visit."""

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from diagnose.model.gear import plain
from diagnose.model.history import Remedied, State, VisitEnd, VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.minutes import spent
from diagnose.session.state import SERVING, Session

BREAK_MINUTES = 60.0  # between two events: from here on nobody worked at the gate


def visit_record(
    name: str, session: Session, times: Sequence[str], kb: KnowledgeBase | None = None, entries: int = 0
) -> VisitRecord:
    """The record of one visit file; `times` are ISO 8601, one per event, never empty.

    `name` identifies visits from before they carried an id of their own; without `kb` no minutes are expected;
    `entries` is the number of the last one.
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
        repairs=tuple(Remedied(plain(r.cause), r.proof, r.note) for r in session.repairs),
        took=took(times),
        expected=spent(kb, session) if kb else 0.0,
    )


def took(times: Sequence[str]) -> float:
    """Minutes from the first to the last of these times, without breaks."""
    moments = [datetime.fromisoformat(at) for at in times]
    gaps = [(later - earlier).total_seconds() / 60 for earlier, later in pairwise(moments)]
    return sum(gap for gap in gaps if 0 <= gap < BREAK_MINUTES)


def _outcome(session: Session) -> VisitEnd:
    """Only repairs whose proof passed count as confirmed causes, whichever device they were at."""
    good = [r for r in session.repairs if r.proof == "passed"]
    return VisitEnd(
        causes=tuple(dict.fromkeys(plain(r.cause) for r in good)),
        remedy="; ".join(r.note for r in good if r.note),
        proof_passed=bool(good) and not session.pending,
        in_service=session.outcome in SERVING,
        note=session.reason,
        how=session.outcome,
    )
