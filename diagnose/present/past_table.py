"""The history as a table: a line for each visit, in words and numbers."""

from collections.abc import Iterable

from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.earlier import cause_says
from diagnose.present.tables import Cell, Listing

COLUMNS = (
    "number", "began", "ended", "site", "devices", "role", "complaint", "words", "state", "answers", "how", "causes",
    "repairs", "proved", "remedy", "note", "minutes", "expected_minutes",
)  # fmt: skip


def visits_table(kb: KnowledgeBase, records: Iterable[VisitRecord]) -> Listing:
    """For people who work in a spreadsheet; what was answered is only counted."""
    return Listing(COLUMNS, tuple(_row(kb, record) for record in records))


def _row(kb: KnowledgeBase, record: VisitRecord) -> tuple[Cell, ...]:
    known, end = kb.complaints.get(record.complaint), record.outcome
    proved = sum(r.proof == "passed" for r in record.repairs)
    return (
        record.id,
        record.began,
        record.ended or None,
        record.site,
        "; ".join(kb.devices.get(d, d) for d in record.devices),
        record.role,
        known.says if known else record.complaint,
        record.words,
        record.state,
        len(record.answers),
        end.how if end else None,
        "; ".join(cause_says(kb, c) for c in end.causes) if end else None,
        len(record.repairs),
        proved,
        end.remedy if end else None,
        end.note if end else None,
        round(record.took, 1) or None,
        round(record.expected, 1) or None,
    )
