"""The conclusion in one sentence, and the ranked causes with what speaks for and against them."""

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.reasons import seen_says
from diagnose.present.record import Evidence, RecordedCause, Version
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, Summary
from diagnose.session.wording import likely_says
from diagnose.words import say

CUSTOMER_CAUSES = 3


def conclusion_says(kb: KnowledgeBase, session: Session, conclusion: Conclusion, summary: Summary) -> str:
    """What the visit came to."""
    if session.mended:
        return say("report.found_and_mended", cause=kb.causes[session.mended.cause].says)
    found = _found(summary)
    early = conclusion.next.check and not session.concluded
    return say("report.not_concluded_yet", found=found) if early else found


def _found(summary: Summary) -> str:
    leader = summary.ranked[0]
    if summary.outside:
        return say("report.nothing_fits")
    if summary.designed:
        return say("report.designed")
    if not summary.stands_out:
        return say("report.no_cause_stands_out")
    return say("report.most_likely", cause=leader.cause.says, likely=likely_says(leader.probability))


def causes(kb: KnowledgeBase, session: Session, summary: Summary, version: Version) -> tuple[RecordedCause, ...]:
    """The ranked causes; a customer is told the first few, and none once it is mended or while none stands out."""
    if version == "full":
        return tuple(_in_full(kb, session, ranked) for ranked in summary.ranked)
    guess = not summary.stands_out
    return () if guess or session.mended else tuple(map(_in_short, summary.ranked[:CUSTOMER_CAUSES]))


def _in_short(ranked: Ranked) -> RecordedCause:
    cause, probability = ranked.cause, ranked.probability
    return RecordedCause(cause.says, cause.explain, likely_says(probability), probability)


def _in_full(kb: KnowledgeBase, session: Session, ranked: Ranked) -> RecordedCause:
    cause = ranked.cause
    return RecordedCause(
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
    start = say("report.start_after_repair") if session.attempts else say("present.start_weight")
    steps = [Evidence(seen_says(kb, w.finding, w.state), w.decibans) for w in ranked.evidence]
    return (Evidence(start, ranked.start.decibans), *steps)
