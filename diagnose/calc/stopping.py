"""How far a gate or arm travels before it stops, and the ISO 13855 distance by the 2010 method.

These are aids to diagnosis, not a safety design: local codes and the qualified person decide.
"""

from dataclasses import dataclass
from math import pi, radians

from diagnose.calc._checks import not_negative
from diagnose.errors import CalculationError

METHOD = "ISO 13855, 2010 method"
WALKING_MM_S, REACHING_MM_S = 1600.0, 2000.0
_REACH_LIMIT_MM, _SMALLEST_MM = 500.0, 100.0


@dataclass(frozen=True, slots=True)
class Stopping:
    """Metres travelled while the system reacts, while it brakes, and together."""

    reaction_m: float
    braking_m: float

    @property
    def total_m(self) -> float:
        """Reaction plus braking distance in metres."""
        return self.reaction_m + self.braking_m


@dataclass(frozen=True, slots=True)
class SafetyDistance:
    """Minimum distance in mm from the detection to the hazard, and the method it comes from."""

    distance_mm: float
    method: str = METHOD


def reaction_time_s(scan_s: float, scans: int, *delays_s: float) -> float:
    """Seconds from intrusion to the drive's reaction: scan time times scans required, plus every delay.

    Delays are the filter, the relay (typically 10-20 ms, common practice), the controller and the drive.
    """
    if scans < 1 or min((scan_s, *delays_s)) < 0:
        raise CalculationError("At least one scan is needed and no delay can be negative.")
    return scan_s * scans + sum(delays_s)


def stopping_distance(speed_m_s: float, reaction_s: float, deceleration_m_s2: float) -> Stopping:
    """Distance a moving part covers: speed times reaction time, plus speed² / (2 · deceleration)."""
    if speed_m_s < 0 or reaction_s < 0 or deceleration_m_s2 <= 0:
        raise CalculationError("Speed and reaction time cannot be negative; deceleration must be above zero.")
    return Stopping(speed_m_s * reaction_s, speed_m_s**2 / (2 * deceleration_m_s2))


def mean_tip_speed_m_s(radius_m: float, sweep_deg: float, time_s: float) -> float:
    """Mean speed of a point `radius_m` from the pivot: arc length over time."""
    if radius_m <= 0 or sweep_deg <= 0 or time_s <= 0:
        raise CalculationError("Radius, sweep and time must be above zero.")
    return radius_m * radians(sweep_deg) / time_s


def peak_tip_speed_m_s(radius_m: float, sweep_deg: float, time_s: float) -> float:
    """Peak speed when the drive follows a half sine: mean times π/2."""
    return mean_tip_speed_m_s(radius_m, sweep_deg, time_s) * pi / 2


def safety_distance(stop_time_s: float, detection_capability_mm: float) -> SafetyDistance:
    """Distance in mm for a person approaching at right angles: S = K·T + C.

    Up to 40 mm: C = 8(d - 14), K = 2000 mm/s, or 1600 mm/s (but not under 500 mm) when that exceeds 500 mm;
    never under 100 mm. Over 40 up to 70 mm: K = 1600, C = 850. Source: ISO 13855, 2010 edition, from memory.
    """
    not_negative(stop_time_s, "stopping time")
    if not 0 < detection_capability_mm <= 70:
        raise CalculationError("The 2010 method covers detection capabilities above 0 up to 70 mm.")
    if detection_capability_mm > 40:
        return SafetyDistance(WALKING_MM_S * stop_time_s + 850)
    intrusion = max(8 * (detection_capability_mm - 14), 0.0)
    near = REACHING_MM_S * stop_time_s + intrusion
    if near <= _REACH_LIMIT_MM:
        return SafetyDistance(max(near, _SMALLEST_MM))
    return SafetyDistance(max(WALKING_MM_S * stop_time_s + intrusion, _REACH_LIMIT_MM))


def safety_distance_parallel(stop_time_s: float, plane_height_mm: float) -> SafetyDistance:
    """Distance in mm for walking along the plane: 1600·T + max(1200 - 0.4·H, 850).

    2010 edition, from memory.
    """
    walked = WALKING_MM_S * not_negative(stop_time_s, "stopping time")
    if not 0 <= plane_height_mm <= 1000:
        raise CalculationError("The 2010 method covers planes from 0 to 1000 mm above the floor.")
    return SafetyDistance(walked + max(1200 - 0.4 * plane_height_mm, 850))
