"""The ranked causes laid out: the leader's evidence in full, of the others what a person would notice."""

from diagnose.present.figures import weight
from diagnose.present.record import Evidence, Record, RecordedCause
from diagnose.report.parts import Block, Heading, Table, Text
from diagnose.session.summary import NOTICEABLE_DECIBANS
from diagnose.words import say


def causes(record: Record) -> tuple[Block, ...]:
    """One block of paragraphs per ranked cause."""
    before = (Text(say("report.before_proof")),) if record.explain and record.suspects else ()
    return before + tuple(
        block
        for number, suspect in enumerate(record.suspects, start=1)
        for block in (
            Heading(say("report.ranked", number=number, cause=suspect.says, likely=suspect.likely)),
            Text(suspect.explain),
            *_evidence(suspect, leads=number == 1),
        )
    )


def _evidence(suspect: RecordedCause, leads: bool) -> tuple[Block, ...]:
    if not suspect.evidence:
        return ()
    source = Text(say("report.source", source=suspect.source))
    if leads:
        return Text(say("present.weighed_against", rival=suspect.rival)), _sum(suspect.evidence), source
    noticed = [e for e in suspect.evidence if abs(e.decibans) >= NOTICEABLE_DECIBANS]
    told = "; ".join(say("present.weighs", says=e.says, weight=weight(e.decibans, 1)) for e in noticed)
    return Text(say("report.evidence", rival=suspect.rival, evidence=told)), source


def _sum(evidence: tuple[Evidence, ...]) -> Table:
    rows = [(e.says, e.decibans) for e in evidence]
    rows.append((say("present.in_all"), sum(e.decibans for e in evidence)))
    head = (say("report.evidence_label"), say("report.weight"))
    return Table(head, tuple(((says,), (weight(decibans, 1),)) for says, decibans in rows), (8, 3))
