"""Stopping distances and the 2010 method of ISO 13855."""

import pytest

from diagnose.calc.stopping import (
    METHOD,
    WALKING_MM_S,
    mean_tip_speed_m_s,
    peak_tip_speed_m_s,
    reaction_time_s,
    safety_distance,
    safety_distance_parallel,
    stopping_distance,
)
from diagnose.errors import CalculationError

KINEMATICS = "[C] elementary kinematics"
ISO_2010 = "[C] formula [M hi] ISO 13855:2010"
OSHA = "[C=L] OSHA chart for 29 CFR 1910.217, Ds = 63 in/s · Ts, printed to half an inch"


@pytest.mark.parametrize(
    ("speed", "delay_s", "deceleration", "reaction_m", "braking_m", "total_m", "source"),
    [
        (0.305, 0.22, 0.5, 0.0671, 0.0930, 0.1601, KINEMATICS),
        (0.200, 0.30, 0.5, 0.0600, 0.0400, 0.1000, KINEMATICS),
        (0.500, 0.15, 1.0, 0.0750, 0.1250, 0.2000, KINEMATICS),
    ],
)
def test_stopping_distance(
    speed: float,
    delay_s: float,
    deceleration: float,
    reaction_m: float,
    braking_m: float,
    total_m: float,
    source: str,
) -> None:
    found = stopping_distance(speed, delay_s, deceleration)
    assert found.reaction_m == pytest.approx(reaction_m, abs=1e-4), source
    assert found.braking_m == pytest.approx(braking_m, abs=1e-4), source
    assert found.total_m == pytest.approx(total_m, abs=1e-4), source


@pytest.mark.parametrize(("time_s", "mean"), [(1.5, 3.142), (3.0, 1.571)])
def test_arm_tip_speed(time_s: float, mean: float) -> None:
    assert mean_tip_speed_m_s(3, 90, time_s) == pytest.approx(mean, abs=1e-3), KINEMATICS


def test_peak_arm_tip_speed() -> None:
    assert peak_tip_speed_m_s(3, 90, 1.5) == pytest.approx(4.935, abs=1e-3), "[C] half sine, π/2 times the mean"


def test_reaction_time_counts_every_scan_and_delay() -> None:
    assert reaction_time_s(0.03, 3, 0.05, 0.015, 0.02, 0.1) == pytest.approx(0.275)


@pytest.mark.parametrize(
    ("stop_s", "capability_mm", "distance_mm", "source"),
    [
        (0.15, 14, 300, ISO_2010),
        (0.25, 30, 528, ISO_2010),
        (0.30, 14, 500, ISO_2010),
        (0.32, 14, 512, ISO_2010),
        (0.50, 30, 928, ISO_2010),
        (0.01, 14, 100, ISO_2010 + ", never under 100 mm"),
        (0.30, 50, 1330, ISO_2010 + ", C = 850 over 40 mm"),
    ],
)
def test_right_angle_approach(stop_s: float, capability_mm: float, distance_mm: float, source: str) -> None:
    found = safety_distance(stop_s, capability_mm)
    assert found.distance_mm == pytest.approx(distance_mm), source
    assert found.method == METHOD == "ISO 13855, 2010 method"


@pytest.mark.parametrize(("height_mm", "distance_mm"), [(300, 1560), (1000, 480 + 850)])
def test_parallel_approach(height_mm: float, distance_mm: float) -> None:
    assert safety_distance_parallel(0.30, height_mm).distance_mm == pytest.approx(distance_mm), ISO_2010


@pytest.mark.parametrize(
    ("stop_s", "printed_in", "source"),
    [
        (0.055, 3.5, OSHA),
        (0.103, 6.5, OSHA),
        (0.158, 10, OSHA),
        (0.317, 20, OSHA),
        (0.380, 24, OSHA),
        (0.428, 27, "[M] same chart"),
    ],
)
def test_the_walking_speed_gives_an_independent_chart(stop_s: float, printed_in: float, source: str) -> None:
    inches = WALKING_MM_S * stop_s / 25.4
    assert round(inches * 2) / 2 == printed_in, source


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: stopping_distance(1, 1, 0),
        lambda: stopping_distance(-1, 1, 1),
        lambda: mean_tip_speed_m_s(3, 90, 0),
        lambda: reaction_time_s(0.03, 0),
        lambda: safety_distance(0.1, 71),
        lambda: safety_distance(-0.1, 14),
        lambda: safety_distance_parallel(0.1, 1001),
    ],
)
def test_numbers_without_meaning_are_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CalculationError):
        impossible()
