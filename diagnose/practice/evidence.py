"""What spoke most for or against a cause, as an answer that can be named."""

from diagnose.core.explain import Weight, weights
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.wording import state_says
from diagnose.words import say

SPEAKS_DB = 1.0  # an answer that weighs less for or against a cause is no reading worth naming


def heaviest(conclusion: Conclusion, cause: str, sign: int) -> Weight | None:
    """The answer that spoke most for a cause (1) or against it (-1), beside its best rival; None where none did."""
    rival = next(c for c, _ in conclusion.belief.ranked() if c != cause)
    steps = [w for w in weights(conclusion.path, conclusion.told, cause, rival)[1:] if w.finding]
    most = max(steps, key=lambda w: sign * w.decibans, default=None)
    return most if most and sign * most.decibans > SPEAKS_DB else None


def seen_says(kb: KnowledgeBase, finding: str, state: str) -> str:
    """A finding with the state that was seen, in words."""
    return say("present.seen", finding=kb.findings[finding].says, state=state_says(kb, finding, state))
