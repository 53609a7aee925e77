"""Inductive loops: trade rules with their evidence beside them."""

import pytest

from diagnose.calc.loops import (
    INDUCTANCE_TOLERANCE,
    Insulation,
    detection_height_m,
    frequency_shift,
    judge_insulation,
    lead_in_inductance_uh,
    loop_inductance_uh,
    quality_factor,
    series_resistance_is_fine,
)
from diagnose.errors import CalculationError

FOOT = 0.3048


@pytest.mark.parametrize(
    ("long_ft", "wide_ft", "turns", "microhenry", "source"),
    [
        (6, 6, 3, 72, "rule [M hi]"),
        (4, 4, 4, 80, "rule [M hi]"),
        (6, 8, 3, 84, "rule [M hi]"),
        (4, 6, 4, 100, "rule [M hi]"),
    ],
)
def test_the_inductance_rule(long_ft: float, wide_ft: float, turns: int, microhenry: float, source: str) -> None:
    assert loop_inductance_uh(2 * (long_ft + wide_ft) * FOOT, turns) == pytest.approx(microhenry), source


@pytest.mark.parametrize("microhenry", [60, 73.5, 75.4, 80])
def test_the_rule_covers_a_standard_test_loop(microhenry: float) -> None:
    rule = loop_inductance_uh(24 * FOOT, 3)
    assert abs(microhenry - rule) <= INDUCTANCE_TOLERANCE * rule, "[L2] 3 turns, 60-80 µH; 73.5-75.4 [C] physics"


def test_lead_in() -> None:
    assert 20 <= lead_in_inductance_uh(100 * FOOT) <= 24, "[L2] 20-24 µH per 100 ft"


def test_the_shift_of_the_frequency() -> None:
    assert frequency_shift(-0.01) == pytest.approx(0.00504, abs=1e-5), "[C]"
    assert frequency_shift(-0.01) == pytest.approx(73_782.5 / 73_412.7 - 1, abs=1e-5), "[C] 99 and 100 µH at 47 nF"


def test_series_resistance() -> None:
    source = "[L] US city supplement: 5 Ω, or Q of 5 at 50 kHz; 94 µH gives 5.91 Ω [C]"
    assert quality_factor(94, 5.91) == pytest.approx(29.53 / 5.91, rel=1e-3), source
    assert series_resistance_is_fine(5.9, 94), source
    assert not series_resistance_is_fine(5.95, 94), source
    assert series_resistance_is_fine(5.0, 60), source
    assert not series_resistance_is_fine(5.01, 60), source


@pytest.mark.parametrize(("short_m", "height_m"), [(4 * FOOT, 0.81), (6 * FOOT, 1.22)])
def test_detection_height(short_m: float, height_m: float) -> None:
    assert detection_height_m(short_m) == pytest.approx(height_m, abs=0.005), "trade rule [M hi]"


@pytest.mark.parametrize(
    ("megohm", "verdict", "source"),
    [
        (float("inf"), "good", "over range on the tester"),
        (100, "good", "[M mid] over 100 MΩ new"),
        (99, "acceptable", "[L] US state rule for loops outside public roads: 50 MΩ at 500 V"),
        (50, "acceptable", "[L] same"),
        (49.9, "suspect", "[L] same"),
        (1, "suspect", "[M mid]"),
        (0.9, "failed", "[M mid] under 1 MΩ failed"),
        (0, "failed", "[M mid]"),
    ],
)
def test_insulation(megohm: float, verdict: Insulation, source: str) -> None:
    assert judge_insulation(megohm) == verdict, source


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: loop_inductance_uh(0, 3),
        lambda: loop_inductance_uh(7, 0),
        lambda: frequency_shift(-1),
        lambda: quality_factor(1, 0),
        lambda: judge_insulation(-1),
    ],
)
def test_numbers_without_meaning_are_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CalculationError):
        impossible()
