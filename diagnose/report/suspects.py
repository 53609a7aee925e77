"""The conclusion in one sentence, and the ranked causes with what speaks for and against them."""

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.report.record import Evidence, Suspect, Version
from diagnose.session.state import Session
from diagnose.session.summary import STANDS_OUT, Ranked, Summary
from diagnose.session.wording import likely_says, state_says

CUSTOMER_CAUSES = 3


def conclusion_says(kb: KnowledgeBase, session: Session, conclusion: Conclusion, summary: Summary) -> str:
    """What the visit came to."""
    if session.mended:
        return f"Found and mended: {kb.causes[session.mended.cause].says}."
    leader = summary.ranked[0]
    early = "Not concluded yet. " if conclusion.next.check and not session.concluded else ""
    if summary.outside:
        return f"{early}Nothing that is known of fits well; no part should be replaced on a guess."
    if summary.designed:
        return f"{early}The sensor seems to do what it was set up to do."
    if leader.probability < STANDS_OUT:
        return f"{early}No cause stands out."
    return f"{early}Most likely: {leader.cause.says} - {likely_says(leader.probability)}."


def suspects(kb: KnowledgeBase, session: Session, summary: Summary, version: Version) -> tuple[Suspect, ...]:
    """The ranked causes; a customer is told the first few, and none once it is mended or while none stands out."""
    if version == "customer":
        guess = summary.ranked[0].probability < STANDS_OUT
        shown = () if guess or session.mended else summary.ranked[:CUSTOMER_CAUSES]
        return tuple(Suspect(r.cause.says, r.cause.explain, likely_says(r.probability), r.probability) for r in shown)
    return tuple(_suspect(kb, session, ranked) for ranked in summary.ranked)


def _suspect(kb: KnowledgeBase, session: Session, ranked: Ranked) -> Suspect:
    cause = ranked.cause
    return Suspect(
        cause.says,
        cause.explain,
        likely_says(ranked.probability),
        ranked.probability,
        kb.causes[ranked.rival].says,
        _evidence(kb, session, ranked),
        kb.sources[cause.source].cite,
    )


def _evidence(kb: KnowledgeBase, session: Session, ranked: Ranked) -> tuple[Evidence, ...]:
    """What was known at the start, then each finding, strongest first; they add up to the log odds."""
    earlier = ", and all that came before the last repair" if session.attempts else ""
    start = Evidence(f"how common they are, and the complaint{earlier}", ranked.start.decibans)
    steps = [
        Evidence(f"{kb.findings[w.finding].says}: {state_says(kb, w.finding, w.state)}", w.decibans)
        for w in ranked.evidence
    ]
    return (start, *steps)
