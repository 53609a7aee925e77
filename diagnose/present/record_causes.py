"""The ranked causes with what speaks for and against them."""

from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.reasons import seen_says
from diagnose.present.record import Evidence, RecordedCause, Version
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, Summary
from diagnose.session.wording import likely_says
from diagnose.words import say

CUSTOMER_CAUSES = 3


def causes(kb: KnowledgeBase, session: Session, summary: Summary, version: Version) -> tuple[RecordedCause, ...]:
    """The ranked causes; a customer is told the first few, and none once it is mended or while none stands out."""
    if version == "full":
        return tuple(_in_full(kb, ranked) for ranked in summary.ranked)
    guess = not summary.stands_out
    settled = session.mended or session.outcome == "nothing_wrong"
    return () if guess or settled else tuple(map(_in_short, summary.ranked[:CUSTOMER_CAUSES]))


def _in_short(ranked: Ranked) -> RecordedCause:
    cause, probability = ranked.cause, ranked.probability
    return RecordedCause(cause.says, cause.explain, likely_says(probability), probability)


def _in_full(kb: KnowledgeBase, ranked: Ranked) -> RecordedCause:
    cause = ranked.cause
    return RecordedCause(
        cause.says,
        cause.explain,
        likely_says(ranked.probability),
        ranked.probability,
        kb.causes[ranked.rival].says,
        _evidence(kb, ranked),
        kb.sources[cause.source].cite,
    )


def _evidence(kb: KnowledgeBase, ranked: Ranked) -> tuple[Evidence, ...]:
    """What was known at the start, then each finding, strongest first; they add up to the log odds."""
    start = say("present.start_weight")
    steps = [Evidence(seen_says(kb, w.finding, w.state), w.decibans) for w in ranked.evidence]
    return (Evidence(start, ranked.start.decibans), *steps)
