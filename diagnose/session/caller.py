"""What is for the caller: what he may do himself, what he sees when it worked, what holds until somebody comes."""

from collections.abc import Iterable

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import CallerRemedy, Cause, KnowledgeBase
from diagnose.model.visit import CALLER
from diagnose.session.checklist import touched_protection
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, Summary
from diagnose.words import say

MOST_OWN = 2  # a caller keeps no more in mind
LEAST_OWN = 0.05


def on_phone(session: Session) -> bool:
    return session.setup.role == "help_desk"


def his_own(session: Session, conclusion: Conclusion, summary: Summary) -> tuple[tuple[Ranked, CallerRemedy], ...]:
    """The leading causes that the caller may do something about himself: none at all under a stop-work order."""
    if not on_phone(session) or conclusion.stands:
        return ()
    own = [(r, r.cause.caller) for r in summary.ranked if r.cause.caller and r.probability >= LEAST_OWN]
    return tuple((ranked, remedy) for ranked, remedy in own if remedy)[:MOST_OWN]


def told_steps(kb: KnowledgeBase, remedy: CallerRemedy, again: bool = False) -> tuple[str, ...]:
    """The steps in the order they are told, with what makes hands near the gate safe before and after them.

    `again`: that was said in full before, and is called to mind.
    """
    cautions, before, after = _says(kb, remedy.cautions), kb.settings.caller_before, kb.settings.caller_after
    if not remedy.hands_near:
        return (*cautions, *remedy.steps)
    if again:
        return (say("session.caller_again"), *cautions, *remedy.steps, say("session.caller_again_after"))
    return (*_says(kb, [before]), *cautions, *remedy.steps, *_says(kb, [after]))


def _says(kb: KnowledgeBase, cautions: Iterable[str]) -> tuple[str, ...]:
    return tuple(kb.cautions[c].says for c in cautions)


def meanwhile(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> tuple[str, ...]:
    """What holds at the gate until somebody comes; an order's measures take the place of the complaint's."""
    if not on_phone(session) or (session.outcome == "solved_on_phone" and not touched_protection(kb, session)):
        return ()
    own = [says for order in conclusion.stands for says in kb.cautions[order].meanwhile]
    always = _says(kb, kb.settings.meanwhile)
    return tuple(dict.fromkeys((*(own or kb.complaints[session.complaint].meanwhile), *always)))


def proof_of(cause: Cause, by: str) -> tuple[str, float]:
    """What proves the remedy and how long that takes: a caller proves only by what he can see."""
    if by == CALLER and cause.caller:
        return cause.caller.proof, cause.caller.proof_minutes
    return cause.proof, cause.proof_minutes
