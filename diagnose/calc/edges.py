"""Resistive safety edges: what the resistance at the edge's two wires means.

8.2 kΩ at the end of the line is common practice, no source; evaluators differ, so every limit is an argument.
"""

from dataclasses import dataclass
from math import inf
from typing import Literal

from diagnose.calc._checks import not_negative, positive
from diagnose.errors import CalculationError

EdgeVerdict = Literal[
    "healthy", "pressed_or_short", "open", "two_terminators_in_parallel", "leakage", "added_resistance"
]

TERMINATOR_OHM = 8200.0


@dataclass(frozen=True, slots=True)
class EdgeWindow:
    """Limits in Ω of one edge and evaluator; pressed and open limits are judgement, the manual decides."""

    terminator_ohm: float = TERMINATOR_OHM
    tolerance: float = 0.05
    pressed_below_ohm: float = 1000.0
    open_above_ohm: float = 100_000.0

    def __post_init__(self) -> None:
        """Refuse limits that overlap."""
        lowest = self.terminator_ohm / 2 * (1 - self.tolerance)
        highest = self.terminator_ohm * (1 + self.tolerance)
        in_order = 0 < self.pressed_below_ohm < lowest and highest < self.open_above_ohm
        if not (in_order and 0 < self.tolerance < 1 / 3):
            raise CalculationError("The edge's limits overlap: check terminator, tolerance and both ends.")

    def is_near(self, ohm: float, centre_ohm: float) -> bool:
        """True when `ohm` lies within the tolerance of `centre_ohm`."""
        return abs(ohm - centre_ohm) <= self.tolerance * centre_ohm


DEFAULT_WINDOW = EdgeWindow()


def classify_edge(ohm: float, window: EdgeWindow = DEFAULT_WINDOW) -> EdgeVerdict:
    """What a resistance means; infinite or over range is `open`.

    Pressed and short cannot be told apart at the wires. Half the terminator points to two terminated edges
    wired in parallel (they belong in series with one terminator). Anything else below the window is a leak
    across the edge (moisture), anything above it added resistance (a bad joint).
    """
    if not_negative(ohm, "resistance") < window.pressed_below_ohm:
        return "pressed_or_short"
    if ohm > window.open_above_ohm:
        return "open"
    if window.is_near(ohm, window.terminator_ohm):
        return "healthy"
    if window.is_near(ohm, window.terminator_ohm / 2):
        return "two_terminators_in_parallel"
    return "leakage" if ohm < window.terminator_ohm else "added_resistance"


def leak_path_ohm(ohm: float, terminator_ohm: float = TERMINATOR_OHM) -> float:
    """Ω of the path across a terminator that would explain a low reading; infinite when there is none."""
    if not_negative(ohm, "resistance") >= positive(terminator_ohm, "terminator"):
        return inf
    return ohm * terminator_ohm / (terminator_ohm - ohm)
