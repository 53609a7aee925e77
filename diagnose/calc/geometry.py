"""Scan-plane geometry: heights, ground hits, spot spacing, levelling, gate travel, trailer gaps.

Lengths in metres, angles in degrees. Plain trigonometry over flat ground: add the road's fall to the tilt and
its crossfall to the roll. A positive tilt looks down.
"""

from dataclasses import dataclass
from math import atan, cos, degrees, floor, radians, sin, tan

from diagnose.calc._checks import not_negative, positive
from diagnose.errors import CalculationError


@dataclass(frozen=True, slots=True)
class Clearance:
    """Smallest gap in metres between the plane and a moving part; negative means the plane cuts it."""

    gap_m: float
    crosses: bool


def _acute(angle_deg: float, name: str) -> float:
    if not -90 < angle_deg < 90:
        raise CalculationError(f"The {name} must lie between -90 and 90 degrees.")
    return radians(angle_deg)


def height_over_ground_m(mount_height_m: float, tilt_deg: float, distance_m: float) -> float:
    """Height of the plane at a horizontal distance: mounting height minus distance times tan(tilt)."""
    return mount_height_m - not_negative(distance_m, "distance") * tan(_acute(tilt_deg, "tilt"))


def height_along_ray_m(
    mount_height_m: float, tilt_deg: float, roll_deg: float, azimuth_deg: float, range_m: float
) -> float:
    """Height at `range_m` along the ray `azimuth_deg` off the sensor's axis, with roll about that axis.

    z = h + r(-sin tilt · cos azimuth + cos tilt · sin azimuth · sin roll).
    """
    tilt, roll, azimuth = _acute(tilt_deg, "tilt"), _acute(roll_deg, "roll"), radians(azimuth_deg)
    slope = -sin(tilt) * cos(azimuth) + cos(tilt) * sin(azimuth) * sin(roll)
    return mount_height_m + not_negative(range_m, "range") * slope


def ground_hit_m(mount_height_m: float, tilt_deg: float) -> float | None:
    """Horizontal distance to where the plane meets flat ground: height / tan(tilt); None if never."""
    tilt = _acute(tilt_deg, "tilt")
    return not_negative(mount_height_m, "mounting height") / tan(tilt) if tilt > 0 else None


def spot_spacing_m(range_m: float, step_deg: float, incidence_deg: float = 0.0) -> float:
    """Gap between neighbouring beams: range times angular step, over cos(angle from the surface's normal)."""
    across = not_negative(range_m, "range") * radians(positive(step_deg, "angular step"))
    return across / cos(_acute(incidence_deg, "incidence"))


def smallest_sure_hit_m(range_m: float, step_deg: float, hits: int = 1) -> float:
    """Projected width that is hit by at least `hits` beams wherever it stands; beams taken as points."""
    if hits < 1:
        raise CalculationError("At least one hit must be asked for.")
    return hits * spot_spacing_m(range_m, step_deg)


def sure_hits(width_m: float, range_m: float, step_deg: float) -> int:
    """Number of point beams that must hit an object of this projected width: width over spacing, floored."""
    spacing = spot_spacing_m(range_m, step_deg)
    if spacing == 0:
        raise CalculationError("At zero range the beams do not spread.")
    return floor(not_negative(width_m, "width") / spacing + 1e-9)


def spot_diameter_m(window_diameter_m: float, range_m: float, divergence_mrad: float) -> float:
    """Spot diameter: diameter at the window plus range times full divergence (small-angle)."""
    return window_diameter_m + not_negative(range_m, "range") * divergence_mrad / 1000


def tilt_from_heights_deg(near_m: float, near_height_m: float, far_m: float, far_height_m: float) -> float:
    """Tilt that two measured plane heights show: atan of the fall over the distance between them."""
    if far_m <= near_m:
        raise CalculationError("The far point must lie beyond the near point.")
    return degrees(atan((near_height_m - far_height_m) / (far_m - near_m)))


def height_error_m(distance_m: float, levelling_error_deg: float) -> float:
    """Height by which a levelling error moves the plane at a distance: distance times tan(error)."""
    return not_negative(distance_m, "distance") * tan(_acute(levelling_error_deg, "levelling error"))


def clearance_to_travel(
    mount_height_m: float, tilt_deg: float, near_m: float, far_m: float, bottom_m: float, top_m: float
) -> Clearance:
    """Gap between the plane and the band a leaf or arm sweeps from `near_m` to `far_m`.

    For a level plane `bottom_m`..`top_m` are heights of the moving part. For an upright plane give offsets
    from the travel line in place of heights: the arithmetic is the same.
    """
    if far_m < near_m or top_m < bottom_m:
        raise CalculationError("Give the near end before the far end and the bottom below the top.")
    ends = [height_over_ground_m(mount_height_m, tilt_deg, distance) for distance in (near_m, far_m)]
    gap = max(min(ends) - top_m, bottom_m - max(ends))
    return Clearance(gap, gap <= 0)


def gap_time_s(gap_m: float, speed_m_s: float) -> float:
    """Seconds a sensor sees nothing while a gap (draw-bar, axle gap) passes: gap over speed.

    The hold time must be longer than this at the slowest speed driven.
    """
    if speed_m_s <= 0:
        raise CalculationError("A vehicle that stands still leaves the gap in front of the sensor for ever.")
    return not_negative(gap_m, "gap") / speed_m_s
