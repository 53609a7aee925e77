"""Inductive loops in the ground: inductance, Q, frequency change, resistance, height, insulation.

All measurements are on the loop with the detector disconnected; a 500 V insulation test never reaches into a
detector or a safety input.
"""

from math import pi, sqrt
from typing import Literal

from diagnose.calc._checks import not_negative, positive

METRES_PER_FOOT = 0.3048
INDUCTANCE_TOLERANCE = 0.20
"""The rule of thumb is good to ±20 % (against loop physics and a standard test loop)."""
LEAD_IN_UH_PER_100_FT = 22.0
"""Shielded twisted 14 AWG: 20-24 µH per 100 ft (standard test-loop sheet)."""
LARGEST_SERIES_OHM = 5.0
SMALLEST_Q, Q_TEST_HZ = 5.0, 50_000.0
NEW_MEGOHM, SUSPECT_BELOW_MEGOHM, FAILED_BELOW_MEGOHM = 100.0, 50.0, 1.0

Insulation = Literal["good", "acceptable", "suspect", "failed"]


def loop_inductance_uh(perimeter_m: float, turns: int) -> float:
    """Microhenries of a loop: a quarter of the perimeter in feet times (turns² + turns); a rule, ±20 %."""
    feet = positive(perimeter_m, "perimeter") / METRES_PER_FOOT
    return feet / 4 * (positive(turns, "number of turns") ** 2 + turns)


def lead_in_inductance_uh(length_m: float) -> float:
    """Microhenries of a shielded twisted lead-in; it should not exceed the loop's own inductance."""
    return LEAD_IN_UH_PER_100_FT * not_negative(length_m, "lead-in length") / (100 * METRES_PER_FOOT)


def frequency_shift(inductance_change: float) -> float:
    """Relative change of frequency for a relative change of inductance, about minus half of it."""
    return 1 / sqrt(positive(1 + inductance_change, "remaining inductance")) - 1


def quality_factor(inductance_uh: float, series_ohm: float, at_hz: float = Q_TEST_HZ) -> float:
    """Q: 2π · frequency · inductance over series resistance."""
    return 2 * pi * at_hz * inductance_uh * 1e-6 / positive(series_ohm, "resistance")


def series_resistance_is_fine(series_ohm: float, inductance_uh: float) -> bool:
    """Up to 5 Ω for loop and lead-in, or Q of at least 5 at 50 kHz (a US city supplement to a state spec)."""
    return series_ohm <= LARGEST_SERIES_OHM or quality_factor(inductance_uh, series_ohm) >= SMALLEST_Q


def detection_height_m(short_side_m: float) -> float:
    """Height to which a vehicle's floor is detected: about two thirds of the short side (trade rule)."""
    return positive(short_side_m, "short side") * 2 / 3


def judge_insulation(megohm: float) -> Insulation:
    """Insulation to earth at 500 V DC: good from 100 MΩ, acceptable from 50, failed under 1, suspect between.

    50 MΩ: a US state rule for loops outside public roads; 100 and 1 MΩ: common practice, no source.
    """
    if not_negative(megohm, "insulation resistance") < FAILED_BELOW_MEGOHM:
        return "failed"
    if megohm < SUSPECT_BELOW_MEGOHM:
        return "suspect"
    return "good" if megohm >= NEW_MEGOHM else "acceptable"
