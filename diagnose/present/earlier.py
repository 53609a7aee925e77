"""An earlier visit of the history, in words also where the knowledge no longer has its cause."""

from dataclasses import dataclass

from diagnose.model.history import VisitEnd, VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class EarlierVisit:
    """`began` is an ISO 8601 time; `outcome` '' where it is not known; `notes` what was done and noted."""

    id: str
    began: str
    site: str
    complaint: str
    devices: str
    words: str
    answers: str
    state: str
    outcome: str
    notes: tuple[str, ...]
    name: str = ""  # of its file, where that is at hand: what opens it


def earlier_visit_of(kb: KnowledgeBase, record: VisitRecord, name: str = "") -> EarlierVisit:
    known, outcome = kb.complaints.get(record.complaint), record.outcome
    return EarlierVisit(
        id=record.id,
        began=record.began,
        site=record.site,
        complaint=known.says if known else record.complaint,
        devices=", ".join(kb.devices.get(d, d) for d in record.devices),
        words=record.words,
        answers=say("present.past_answers", n=len(record.answers)),
        state=say(f"present.past_{record.state}"),
        outcome=_outcome(kb, outcome) if outcome else "",
        notes=tuple(filter(None, (outcome.remedy, outcome.note))) if outcome else (),
        name=name,
    )


def _outcome(kb: KnowledgeBase, outcome: VisitEnd) -> str:
    """What was found, whether it was proved, and how it ended."""
    how = outcome.how or ("in_service" if outcome.in_service else "out_of_service")
    return say(
        "present.past_outcome",
        found="; ".join(cause_says(kb, c) for c in outcome.causes) or say("present.past_no_cause"),
        proof=say("present.proof_passed" if outcome.proof_passed else "present.past_not_proved"),
        service=say(f"present.past_{how}"),
    )


def cause_says(kb: KnowledgeBase, cause: str) -> str:
    """A cause in words, also one that the knowledge no longer has."""
    return kb.causes[cause].says if cause in kb.causes else cause.replace("_", " ")
