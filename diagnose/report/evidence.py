"""The ranked causes laid out: the leader's evidence in full, of the others what a person would notice."""

from diagnose.report.parts import Block, Heading, Table, Text
from diagnose.report.record import Evidence, Record, Suspect
from diagnose.session.summary import NOTICEABLE_DECIBANS

BEFORE_PROOF = "The answers alone made these likely, before the proof of the repair:"


def causes(record: Record) -> tuple[Block, ...]:
    """One block of paragraphs per ranked cause."""
    before = (Text(BEFORE_PROOF),) if record.explain and record.suspects else ()
    return before + tuple(
        block
        for number, suspect in enumerate(record.suspects, start=1)
        for block in (
            Heading(f"{number}. {suspect.says} - {suspect.likely}"),
            Text(suspect.explain),
            *_evidence(suspect, leads=number == 1),
        )
    )


def _evidence(suspect: Suspect, leads: bool) -> tuple[Block, ...]:
    if not suspect.evidence:
        return ()
    against = f"Evidence weighed against '{suspect.rival}'"
    source = Text(f"Source: {suspect.source}")
    if leads:
        return Text(f"{against}; 10 dB is ten to one."), _sum(suspect.evidence), source
    noticed = [e for e in suspect.evidence if abs(e.decibans) >= NOTICEABLE_DECIBANS]
    return Text(f"{against}: " + "; ".join(f"{e.says} ({_decibans(e)})" for e in noticed) + "."), source


def _sum(evidence: tuple[Evidence, ...]) -> Table:
    total = Evidence("In all", sum(e.decibans for e in evidence))
    return Table(("Evidence", "Weight"), tuple(((e.says,), (_decibans(e),)) for e in (*evidence, total)), (8, 3))


def _decibans(evidence: Evidence) -> str:
    return f"{round(evidence.decibans, 1) + 0.0:+.1f} dB"  # no "-0.0"
