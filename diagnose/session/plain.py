"""Session and conclusion -> one JSON-ready object. The documented, stable shape of `--json` (schema 1)."""

from typing import Any

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.told import cautions_for
from diagnose.model.visit import SOMETHING_ELSE, Answer
from diagnose.session.doubts import unfitting
from diagnose.session.state import Session
from diagnose.session.summary import summarise

SCHEMA = 1


def _answer(answer: Answer) -> dict[str, Any]:
    plain = {"check": answer.check, "value": answer.value, "sure": answer.sure, "by": answer.by}
    return plain | ({"words": answer.note} if answer.value == SOMETHING_ELSE else {})


def as_plain(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> dict[str, Any]:
    """answers, posterior, next check, cautions and the rest, in plain values; probabilities to twelve places."""
    kb = reasoner.kb
    summary = summarise(reasoner, session, conclusion)
    step = conclusion.next
    return {
        "schema": SCHEMA,
        "knowledge": kb.digest,
        "role": session.setup.role,
        "devices": list(session.setup.devices),
        "complaint": session.complaint,
        "words": session.words,
        "answers": [_answer(a) for a in session.given],
        "not_counted": list(conclusion.stale),
        "observations": [
            {"finding": o.finding, "state": o.state, "settled_by": o.settled_by} for o in conclusion.observations
        ],
        "rules": [f.rule for f in conclusion.after.firings],
        "contradictions": list(conclusion.after.contradictions),
        "misfit": conclusion.misfit,
        "unfitting": [d.check for d in unfitting(kb, conclusion)],
        "stop_work": list(conclusion.stop_work),
        "posterior": dict(conclusion.belief.ranked()),
        "sets": [{"causes": list(s), "probability": p} for s, p in conclusion.belief.sets()],
        "log_evidence": conclusion.belief.log_evidence,
        "next": {
            "check": step.check,
            "why": step.why,
            "minutes": step.gain.minutes if step.gain else None,
            "saves": step.gain.saves if step.gain else None,
            "bits": step.gain.bits if step.gain else None,
        },
        "cautions": list(cautions_for(kb, kb.checks[step.check])) if step.check else list(conclusion.after.cautions),
        "concluded": session.concluded or not step.check,
        "repair_order": list(summary.order),
        "repairs_that_worked": list(conclusion.worked),
        "outside_the_list": summary.outside,
    }
