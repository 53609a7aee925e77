"""Minutes of a visit: what it has taken so far by the knowledge, and what is expected to come."""

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.session.state import Session


@dataclass(frozen=True, slots=True)
class Minutes:
    """`to_come`: expected until a repair is proved, with no further question; 0 where nothing is expected."""

    spent: float
    to_come: float


def minutes_of(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> Minutes:
    """Both, for the visit as it stands."""
    return Minutes(spent(kb, session), _to_come(kb, session, conclusion))


def spent(kb: KnowledgeBase, session: Session) -> float:
    """Every question with its check where it was made, each cover once, and the remedies with their proofs."""
    answers = [a for a in _given(session) if a.check in kb.checks and not a.heard]
    made = [kb.checks[a.check] for a in answers if a.says_something]
    causes = [kb.causes[r.cause] for r in session.repairs]
    opened = dict.fromkeys((*(c.access for c in made), *(c.remedy.access for c in causes)))
    proofs = [c.proof_minutes for c, r in zip(causes, session.repairs, strict=True) if r.proof != "pending"]
    return (
        len(answers) * kb.settings.asking_minutes
        + sum(c.minutes for c in made)
        + sum(kb.access[group].minutes for group in opened if group)
        + sum(c.remedy.minutes for c in causes)
        + sum(proofs)
    )


def _given(session: Session) -> Iterator[Answer]:
    """Every answer that was given, once each: those carried on were given before."""
    for attempt in session.attempts:
        yield from attempt.answers
    yield from session.answers


def _to_come(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> float:
    if session.outcome or session.mended:
        return 0.0
    if session.pending:
        return kb.causes[session.pending.cause].proof_minutes
    return conclusion.ahead.now
