"""Resistive safety edges; 8.2 kΩ and its window are common practice, no source."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.cable import awg_area_mm2, loop_resistance
from diagnose.calc.edges import EdgeVerdict, EdgeWindow, classify_edge, leak_path_ohm
from diagnose.errors import CalculationError

PRACTICE = "trade practice [M hi], common practice, no source"


@pytest.mark.parametrize(
    ("ohm", "verdict"),
    [
        (8200, "healthy"),
        (7790, "healthy"),
        (8610, "healthy"),
        (7789, "leakage"),
        (8611, "added_resistance"),
        (16400, "added_resistance"),
        (4100, "two_terminators_in_parallel"),
        (6000, "leakage"),
        (1500, "leakage"),
        (0, "pressed_or_short"),
        (12, "pressed_or_short"),
        (inf, "open"),
        (2e6, "open"),
    ],
)
def test_what_a_resistance_means(ohm: float, verdict: EdgeVerdict) -> None:
    assert classify_edge(ohm) == verdict, PRACTICE


def test_a_long_cable_does_not_matter() -> None:
    lead = loop_resistance(100, awg_area_mm2(22))
    assert lead == pytest.approx(10.6, abs=0.05), "[C] +10.6 Ω for 100 m of 22 AWG"
    assert classify_edge(8200 + lead) == "healthy"
    assert classify_edge(lead) == "pressed_or_short"


def test_another_evaluator_has_another_window() -> None:
    window = EdgeWindow(terminator_ohm=1200, tolerance=0.2, pressed_below_ohm=300, open_above_ohm=5000)
    assert classify_edge(1400, window) == "healthy"
    assert classify_edge(600, window) == "two_terminators_in_parallel"
    assert classify_edge(8200, window) == "open"


@given(st.floats(100, 8199))
def test_the_leak_path_explains_the_reading(ohm: float) -> None:
    leak = leak_path_ohm(ohm)
    assert 1 / (1 / 8200 + 1 / leak) == pytest.approx(ohm), "resistances in parallel"


def test_no_leak_when_nothing_is_low() -> None:
    assert leak_path_ohm(8200) == inf
    assert leak_path_ohm(0) == 0


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: classify_edge(-1),
        lambda: classify_edge(float("nan")),
        lambda: leak_path_ohm(-1),
        lambda: EdgeWindow(tolerance=0.4),
        lambda: EdgeWindow(pressed_below_ohm=5000),
        lambda: EdgeWindow(open_above_ohm=8000),
    ],
)
def test_numbers_without_meaning_are_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CalculationError):
        impossible()
