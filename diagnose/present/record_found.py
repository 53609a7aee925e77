"""What a visit came to, in a sentence that nothing in its record contradicts; what was ruled out, and by what."""

from diagnose.core.explain import weights
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.reasons import seen_says
from diagnose.present.record import RuledOut
from diagnose.session.state import Session
from diagnose.session.summary import NOTICEABLE_DECIBANS, Summary
from diagnose.session.wording import likely_says
from diagnose.words import say

THOUGHT_OF = 12  # causes of the start that are worth a word when they are ruled out
RULED_OUT = 0.01
MOST_RULED_OUT = 6


def conclusion_says(kb: KnowledgeBase, session: Session, conclusion: Conclusion, summary: Summary) -> str:
    """What the visit came to."""
    good = [kb.causes[r.cause].says for r in session.repairs if r.proof == "passed"]
    if good:
        return " ".join(filter(None, (_mended(good), _beyond(kb, session, summary))))
    if session.outcome == "nothing_wrong":
        return say("report.nothing_wrong")
    found = _found(kb, session, summary)
    early = conclusion.next.check and not session.concluded
    return say("report.not_concluded_yet", found=found) if early else found


def _mended(good: list[str]) -> str:
    *before, last = dict.fromkeys(good)
    mended = say("report.found_and_mended", cause=last)
    return " ".join((mended, *(say("report.also_mended", cause=cause) for cause in before)))


def _beyond(kb: KnowledgeBase, session: Session, summary: Summary) -> str:
    """What is to be said beside what was mended."""
    if session.mended:
        return say("report.proof_owed") if session.outcome == "proof_owed" else ""
    return say("report.still_wrong", found=_found(kb, session, summary))


def _found(kb: KnowledgeBase, session: Session, summary: Summary) -> str:
    leader = summary.ranked[0]
    if session.pending:
        return say("report.mending_not_proved", cause=kb.causes[session.pending.cause].says)
    if summary.outside:
        return say("report.nothing_fits")
    if summary.designed:
        return say("report.designed")
    if not summary.stands_out:
        return say("report.no_cause_stands_out")
    tried = leader.cause.id in {r.cause for r in session.repairs if r.proof == "failed"}
    key = "report.most_likely_again" if tried else "report.most_likely"
    return say(key, cause=leader.cause.says, likely=likely_says(leader.probability))


def ruled_out(kb: KnowledgeBase, conclusion: Conclusion) -> tuple[RuledOut, ...]:
    """Causes that were likely at the start and are not any more, each with what spoke against it most."""
    leader = conclusion.belief.ranked()[0][0]
    early = [cause for cause, _ in conclusion.start.ranked()[:THOUGHT_OF]]
    gone = [c for c in early if c != leader and conclusion.belief.probability(c) < RULED_OUT and c in kb.causes]
    found = [RuledOut(kb.causes[c].says, by) for c in gone if (by := _against(kb, conclusion, c, leader))]
    return tuple(found[:MOST_RULED_OUT])


def _against(kb: KnowledgeBase, conclusion: Conclusion, cause: str, leader: str) -> str:
    _, *steps = weights(conclusion.path, conclusion.told, cause, leader)
    worst = min((s for s in steps if s.finding), key=lambda step: step.decibans, default=None)
    if worst is None or worst.decibans > -3 * NOTICEABLE_DECIBANS:
        return ""
    return seen_says(kb, worst.finding, worst.state)
