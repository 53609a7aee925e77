"""A number against limits, or against another number."""

from math import inf

from diagnose.calc.calculator import Finished, Numbers, calculator
from diagnose.calc.units import format_reading
from diagnose.errors import CalculationError
from diagnose.words import say

LIMITS = {"inside": "within the limits", "below": "below the limit", "above": "above the limit"}


def _middle(numbers: Numbers) -> list[float]:
    """The middle of what is allowed, or what lies well on the right side of the only limit that says something."""
    low, high = numbers["low"], numbers["high"]
    if low != -inf and high < 1000 * max(low, 1.0):
        return [(low + high) / 2]
    if low > 0:
        return [1.5 * low]
    return [0.4 * high] if high != inf else []


@calculator("within", "A number against limits", words=LIMITS, sound=_middle)
def within(*, value: float, low: float = -inf, high: float = inf, unit: str = "") -> Finished:
    """A number against limits, all in base unit `unit` (a key of `unit_table.BASES`; "" where it is not known)."""
    return compared(say("calc.value"), value, low, high, ("below", "inside", "above"), unit)


@calculator(
    "difference",
    "Two numbers against each other",
    words={"equal": "", "a_larger": "", "b_larger": ""},
    sound=lambda numbers: [numbers[other] for other in ("a", "b") if other in numbers],
)
def difference(*, a: float, b: float, tolerance: float, unit: str = "") -> Finished:
    """a - b against a tolerance, all in base unit `unit`."""
    return compared(say("calc.difference"), a - b, -tolerance, tolerance, ("b_larger", "equal", "a_larger"), unit)


@calculator(
    "ratio",
    "A divided by b against limits",
    words=dict.fromkeys(LIMITS, ""),
    sound=lambda numbers: [numbers.get("b", 1.0) * middle for middle in _middle(numbers)],
)
def ratio(*, a: float, b: float, low: float, high: float) -> Finished:
    """a / b against limits."""
    if b == 0:
        raise CalculationError("cannot divide by zero")
    return compared(say("calc.ratio"), a / b, low, high, ("below", "inside", "above"), "")


def compared(what: str, value: float, low: float, high: float, words: tuple[str, str, str], unit: str) -> Finished:
    """`what` is `value`, held against `low` to `high`; `unit` as for `within`."""
    word = words[0] if value < low else words[2] if value > high else words[1]
    return Finished(word, say("calc.compared", what=what, value=_shown(value, unit), limits=_limits(low, high, unit)))


def _limits(low: float, high: float, unit: str) -> str:
    least, most = _shown(low, unit), _shown(high, unit)
    if low == -inf:
        return say("calc.at_most", high=most)
    return say("calc.at_least", low=least) if high == inf else say("calc.between", low=least, high=most)


def _shown(number: float, unit: str) -> str:
    return format_reading(number, unit) if unit else f"{number:.4g}"
