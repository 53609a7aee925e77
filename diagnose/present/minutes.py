"""How long the visit has taken and what is expected to come, in one line."""

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.figures import rounded
from diagnose.session.minutes import minutes_of, spent
from diagnose.session.state import Session
from diagnose.words import say

OPEN_FROM = 0.95  # of what handing over costs: then nothing is likely enough yet to count on less


def time_says(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> str:
    """'12 min so far, about 40 min to come', or up to so many."""
    found = minutes_of(kb, session, conclusion)
    if not found.to_come:
        return took_says(kb, session)
    open_yet = found.to_come >= OPEN_FROM * kb.settings.specialist_minutes
    key = "present.time_open" if open_yet else "present.time"
    return say(key, spent=rounded(found.spent), left=rounded(found.to_come))


def took_says(kb: KnowledgeBase, session: Session) -> str:
    """'About 12 min in all.'"""
    return say("present.time_in_all", spent=rounded(spent(kb, session)))
