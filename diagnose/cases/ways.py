"""Ways of asking that cases are played with: the tool's own, and simpler ones to compare with in the same run.

The simpler ones stop where the leading cause reaches the tool's own limit, or nothing is left to ask.
"""

from collections.abc import Callable, Mapping

from diagnose.cases.play import Pick
from diagnose.core.policy import Gain
from diagnose.core.reason import Conclusion
from diagnose.session.state import Session

Way = Callable[[float], Pick]  # from the probability that is likely enough; fresh for every visit, some remember


def tool(enough: float) -> Pick:
    """The tool's own choice, with its own limit."""
    del enough
    return lambda _session, conclusion: conclusion.next.check


def usual_order(enough: float) -> Pick:
    """Each complaint's usual list: what tells most per minute before anything is known, then straight down it."""
    rank: dict[str, float] = {}

    def pick(session: Session, conclusion: Conclusion) -> str:
        if not session.answers:
            rank.update({g.option.check: g.bits / g.minutes for g in conclusion.gains})
        return _best(conclusion, enough, lambda g: rank.get(g.option.check, 0.0))

    return pick


def fixed_order(enough: float) -> Pick:
    """Cheapest first, whatever the complaint."""
    return lambda _session, conclusion: _best(conclusion, enough, lambda g: -g.option.own - g.option.opening)


def entropy(enough: float) -> Pick:
    """What tells most bits per minute now."""
    return lambda _session, conclusion: _best(conclusion, enough, lambda g: g.bits / g.minutes)


def _best(conclusion: Conclusion, enough: float, key: Callable[[Gain], float]) -> str:
    if not conclusion.gains or conclusion.belief.ranked()[0][1] >= enough:
        return ""
    return max(conclusion.gains, key=lambda g: (key(g), g.option.check)).option.check


TOOL = "tool"
WAYS: Mapping[str, Way] = {
    TOOL: tool,
    "fixed_order": fixed_order,
    "usual_order": usual_order,
    "entropy": entropy,
}
