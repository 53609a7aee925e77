"""A number to read off an instrument, such that the knowledge's own calculator finds what the hidden fault shows.

The search starts from what physics says a sound installation would read (supply left by the cable, resistance of
the copper, the edge's terminator), goes on to its usual multiples, and only then tries the whole plausible range.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from diagnose.calc import cable
from diagnose.core.facts import run_calculation
from diagnose.model.knowledge import Calculation, Check
from diagnose.model.visit import Value

NOISE = 0.02  # standard deviation of a hand instrument and its use, share of the reading; judgement
TRIES = 4
LADDER = (1.0, 0.95, 0.9, 0.8, 0.7, 0.5, 0.3, 0.1, 0.01, 0.0, 1.1, 1.3, 1.6, 2.0, 3.0, 10.0, 100.0, 1e4, 1e6)
STEPS = 41  # candidates over the plausible range


def reading(
    check: Check,
    calculation: Calculation,
    values: Mapping[str, Value],
    words: Sequence[str],
    rng: np.random.Generator,
) -> float | None:
    """A value of `check`, in its unit, for which the calculation says one of `words`; None when there is none.

    `values` are the other facts the calculation needs: the physical profile and earlier readings.
    """

    def fits(value: float) -> bool:
        outcome = run_calculation(calculation, {**values, check.id: value})
        return outcome is not None and outcome.word in words

    low, high = check.hard or (-np.inf, np.inf)
    usual = check.plausible or (low, high)
    good = [v for v in candidates(check, calculation, values) if low <= v <= high and fits(v)]
    good.sort(key=lambda v: not usual[0] <= v <= usual[1])  # a strange reading only where no usual one fits
    return _blurred(good[0], check, fits, rng) if good else None


def _blurred(value: float, check: Check, fits: Callable[[float], bool], rng: np.random.Generator) -> float:
    """The value with instrument noise, rounded as people read it; less noise where that would change the meaning."""
    low, high = check.hard or (-np.inf, np.inf)
    for attempt in range(TRIES):
        noisy = value * (1.0 + NOISE * 0.5**attempt * float(rng.standard_normal()))
        rounded = float(round(noisy)) if check.unit == "count" else float(f"{noisy:.3g}")
        if low <= rounded <= high and fits(rounded):
            return rounded
    return value


def candidates(check: Check, calculation: Calculation, values: Mapping[str, Value]) -> Iterator[float]:
    """Values worth trying, most natural first."""
    given: dict[str, Value] = dict(calculation.constants)
    given |= {p: values[f] for p, f in calculation.inputs.items() if f in values and f != check.id}
    numbers = {name: float(v) for name, v in given.items() if not isinstance(v, str)}
    for anchor in _anchors(calculation.calculator, numbers):
        yield from (float(f"{anchor * step:.4g}") for step in LADDER)
    tolerance = numbers.get("tolerance", 0.0)
    for base in (numbers[name] for name in ("a", "b", "near", "far") if name in numbers):
        yield from (base, base + 3 * tolerance + 1, base - 3 * tolerance - 1, base + 3 * tolerance)
        yield base - 3 * tolerance
    for span in (check.plausible, check.hard):
        if span:
            yield from map(float, np.linspace(*span, STEPS))
            yield from (float(f"{v:.3g}") for v in np.geomspace(max(span[0], span[1] / 1e6), span[1], STEPS))


def _anchors(calculator: str, numbers: Mapping[str, float]) -> list[float]:
    """What a sound installation would read, by the physics of the calculator."""
    if calculator == "supply_at_device":
        return [_expected_supply(numbers)]
    if calculator == "edge_resistance":
        return [numbers.get("terminator", 8200.0)]
    if calculator == "loop_resistance":
        metres = numbers.get("perimeter", 8.0) * numbers.get("turns", 3.0) + 2 * numbers.get("lead_in", 15.0)
        return [metres / 1000 * cable.resistance_per_km(numbers.get("area", 2.08))]
    if calculator == "sag":
        return [numbers.get("idle", 24.0)]
    return _limits(calculator, numbers)


def _expected_supply(numbers: Mapping[str, float]) -> float:
    source = numbers.get("source") or numbers.get("minimum", 24.0) * 1.3
    if "area" not in numbers or not numbers.get("length"):
        return source
    load = cable.Load("constant power", numbers.get("load_w", 5.0))
    loop = cable.loop_resistance(numbers["length"], numbers["area"], 20.0)
    supply = cable.supply_at_device(source, loop, load)
    return supply.device_v if supply.starts else source


def _limits(calculator: str, numbers: Mapping[str, float]) -> list[float]:
    """The middle of what a comparison allows, in the unit of the reading."""
    low, high = numbers.get("low"), numbers.get("high")
    scale = numbers.get("b", 1.0) if calculator == "ratio" else 1.0
    if low is not None and high is not None and high < 1000 * max(low, 1.0):
        return [scale * (low + high) / 2]
    return [scale * 1.5 * low] if low else [scale * 0.4 * high] if high is not None else []
