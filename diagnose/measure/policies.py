"""Ways of choosing the next check: the tool's own, and simpler ones to compare with.

The simpler ones stop when the leading cause reaches CONCLUDE_AT, or nothing is left to ask.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from diagnose.core.policy import Gain
from diagnose.core.reason import Conclusion
from diagnose.measure.simulate import CONCLUDE_AT, Picker


def tool(conclusion: Conclusion, rng: np.random.Generator) -> str:
    """The tool's own choice."""
    del rng
    return conclusion.next.check


def _until_sure(key: Callable[[Gain], float]) -> Picker:
    def pick(conclusion: Conclusion, rng: np.random.Generator) -> str:
        del rng
        return max(_askable(conclusion), key=lambda g: (key(g), g.option.check)).option.check

    return lambda conclusion, rng: pick(conclusion, rng) if _askable(conclusion) else ""


def _askable(conclusion: Conclusion) -> Sequence[Gain]:
    return () if conclusion.belief.ranked()[0][1] >= CONCLUDE_AT else conclusion.gains


def _any_permitted(conclusion: Conclusion, rng: np.random.Generator) -> str:
    gains = _askable(conclusion)
    return gains[int(rng.integers(len(gains)))].option.check if gains else ""


def no_checks(conclusion: Conclusion, rng: np.random.Generator) -> str:
    """Repairs alone, most probable per minute first, on the complaint."""
    del conclusion, rng
    return ""


POLICIES: Mapping[str, Picker] = {
    "tool": tool,
    "fixed_order": _until_sure(lambda g: -g.option.own - g.option.opening),
    "random": _any_permitted,
    "entropy": _until_sure(lambda g: g.bits / g.minutes),
    "no_checks": no_checks,
}
