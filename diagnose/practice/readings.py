"""A number to read off an instrument, such that the knowledge's own calculator finds what the hidden fault shows.

The search starts from what physics says a sound installation would read (supply left by the cable, resistance of
the copper, the edge's terminator), goes on to its usual multiples, and only then tries the whole plausible range.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from diagnose.calc.registry import FOR_RULES
from diagnose.core.facts import run_calculation
from diagnose.model.knowledge import Check
from diagnose.model.rules import Calculation
from diagnose.model.visit import Value

METER = 0.01  # standard deviation of a hand instrument, share of the reading, the same in all it reads; judgement
REPEAT = 0.003  # of its use, at each reading anew: two readings along one cable keep their order; judgement
TRIES = 4
LADDER = (1.0, 0.95, 0.9, 0.8, 0.7, 0.5, 0.3, 0.1, 0.01, 0.0, 1.1, 1.3, 1.6, 2.0, 3.0, 10.0, 100.0, 1e4, 1e6)
STEPS = 41  # candidates over the plausible range


def reading(
    check: Check,
    calculation: Calculation,
    values: Mapping[str, Value],
    words: Sequence[str],
    rng: np.random.Generator,
    meter: float = 0.0,
) -> float | None:
    """A value of `check`, in its unit, for which the calculation says one of `words`; None when there is none.

    `values` are the other facts the calculation needs: the physical profile and earlier readings. `meter`: standard
    deviations by which the instrument reads too much.
    """

    def fits(value: float) -> bool:
        outcome = run_calculation(calculation, {**values, check.id: value})
        return outcome is not None and outcome.word in words

    low, high = check.hard or (-np.inf, np.inf)
    usual = check.plausible or (low, high)
    possible = [v for v in candidates(check, calculation, values) if low <= v <= high]
    possible.sort(key=lambda v: not usual[0] <= v <= usual[1])  # a strange reading only where no usual one fits
    first = next((v for v in possible if fits(v)), None)
    return None if first is None else _blurred(first, check, fits, rng, meter)


def _blurred(
    value: float, check: Check, fits: Callable[[float], bool], rng: np.random.Generator, meter: float
) -> float:
    """The value with instrument noise, rounded as people read it; less noise where that would change the meaning."""
    low, high = check.hard or (-np.inf, np.inf)
    for attempt in range(TRIES):
        off = METER * meter + REPEAT * float(rng.standard_normal())
        noisy = value * (1.0 + 0.5**attempt * off)
        rounded = float(round(noisy)) if check.unit == "count" else float(f"{noisy:.3g}")
        if low <= rounded <= high and fits(rounded):
            return rounded
    return value


def candidates(check: Check, calculation: Calculation, values: Mapping[str, Value]) -> Iterator[float]:
    """Values worth trying, most natural first."""
    calculator = FOR_RULES[calculation.calculator]
    given: dict[str, object] = {**calculator.defaults, **calculation.constants}
    given |= {p: values[f] for p, f in calculation.inputs.items() if f in values and f != check.id}
    numbers = {name: float(v) for name, v in given.items() if isinstance(v, int | float)}
    beyond = 3 * numbers.get("tolerance", 0.0)
    for anchor in calculator.sound(numbers):
        yield from (float(f"{anchor * step:.4g}") for step in LADDER)
        yield from (anchor + beyond, anchor - beyond, anchor + beyond + 1, anchor - beyond - 1)
    for span in (check.plausible, check.hard):
        if span:
            yield from map(float, np.linspace(*span, STEPS))
            yield from (float(f"{v:.3g}") for v in np.geomspace(max(span[0], span[1] / 1e6), span[1], STEPS))
