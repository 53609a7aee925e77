"""Geometry: values computed from the stated trigonometry [C] by an independent calculation."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.geometry import (
    clearance_to_travel,
    gap_time_s,
    ground_hit_m,
    height_along_ray_m,
    height_error_m,
    height_over_ground_m,
    smallest_sure_hit_m,
    spot_diameter_m,
    spot_spacing_m,
    sure_hits,
    tilt_from_heights_deg,
)
from diagnose.errors import CalculationError

TRIG = "[C] trigonometry"


@pytest.mark.parametrize(
    ("height_m", "tilt_deg", "distance_m", "z_m", "hit_m", "source"),
    [
        (0.25, 1, 5, 0.16272, 14.3225, TRIG),
        (0.25, -1, 5, 0.33728, None, TRIG),
        (0.30, 2, 4, 0.16032, 8.5909, TRIG),
        (2.50, 30, 2, 1.34530, 4.3301, TRIG),
        (1.00, 0.5, 10, 0.91273, 114.589, TRIG),
    ],
)
def test_height_over_ground_and_ground_hit(
    height_m: float, tilt_deg: float, distance_m: float, z_m: float, hit_m: float | None, source: str
) -> None:
    assert height_over_ground_m(height_m, tilt_deg, distance_m) == pytest.approx(z_m, abs=1e-4), source
    hit = ground_hit_m(height_m, tilt_deg)
    assert hit == (None if hit_m is None else pytest.approx(hit_m, abs=1e-3)), source


@pytest.mark.parametrize(
    ("height_m", "tilt_deg", "roll_deg", "azimuth_deg", "range_m", "z_m", "source"),
    [
        (0.25, 0, 2, 90, 3, 0.35470, TRIG),
        (0.25, 1, 2, 45, 4, 0.29933, TRIG),
        (0.25, 1, -2, 45, 4, 0.10194, TRIG),
        (0.25, 0, 1, 30, 5, 0.29363, TRIG),
    ],
)
def test_height_with_roll(
    height_m: float,
    tilt_deg: float,
    roll_deg: float,
    azimuth_deg: float,
    range_m: float,
    z_m: float,
    source: str,
) -> None:
    found = height_along_ray_m(height_m, tilt_deg, roll_deg, azimuth_deg, range_m)
    assert found == pytest.approx(z_m, abs=1e-4), source


@pytest.mark.parametrize(
    ("range_m", "step_deg", "spacing_mm", "source"),
    [
        (5, 0.35, 30.543, TRIG),
        (5, 0.25, 21.817, TRIG),
        (9.9, 0.35, 60.476, TRIG),
        (3, 0.5, 26.180, TRIG),
        (10, 0.1, 17.453, TRIG),
        (5, 1.0, 87.266, TRIG),
    ],
)
def test_spot_spacing(range_m: float, step_deg: float, spacing_mm: float, source: str) -> None:
    assert spot_spacing_m(range_m, step_deg) * 1000 == pytest.approx(spacing_mm, abs=1e-3), source
    slanted = spot_spacing_m(range_m, step_deg, 60)
    assert slanted * 1000 == pytest.approx(2 * spacing_mm, abs=2e-3), source


@pytest.mark.parametrize(("hits", "width_mm"), [(1, 30.54), (2, 61.09), (3, 91.63)])
def test_smallest_sure_hit(hits: int, width_mm: float) -> None:
    width = smallest_sure_hit_m(5, 0.35, hits)
    assert width * 1000 == pytest.approx(width_mm, abs=5e-3), TRIG
    assert sure_hits(width, 5, 0.35) == hits
    assert sure_hits(width * 0.999, 5, 0.35) == hits - 1


@given(st.floats(0.01, 0.5), st.floats(0.5, 10), st.floats(0.1, 1), st.floats(0, 1))
def test_an_object_is_hit_at_least_as_often_as_promised(
    width_m: float, range_m: float, step_deg: float, phase: float
) -> None:
    spacing = spot_spacing_m(range_m, step_deg)
    beams = [(number + phase) * spacing for number in range(int(width_m / spacing) + 3)]
    hits = sum(0 <= beam <= width_m + 1e-9 for beam in beams)
    assert hits >= sure_hits(width_m, range_m, step_deg)


def test_spot_diameter() -> None:
    assert spot_diameter_m(0.008, 5, 3) == pytest.approx(0.023, abs=1e-6), TRIG


@given(st.floats(0, 3), st.floats(-30, 30), st.floats(0, 5), st.floats(0.5, 5))
def test_two_heights_give_the_tilt_back(height_m: float, tilt_deg: float, near_m: float, apart_m: float) -> None:
    far_m = near_m + apart_m
    heights = [height_over_ground_m(height_m, tilt_deg, distance) for distance in (near_m, far_m)]
    assert tilt_from_heights_deg(near_m, heights[0], far_m, heights[1]) == pytest.approx(tilt_deg, abs=1e-6)
    change = heights[0] - heights[1]
    assert change == pytest.approx(height_error_m(apart_m, tilt_deg), abs=1e-9)


@pytest.mark.parametrize(
    ("bottom_m", "top_m", "gap_m", "crosses"),
    [(0.10, 1.5, -0.15, True), (0.30, 1.5, 0.05, False), (0.0, 0.10, 0.06272, False), (0.0, 0.2, -0.03728, True)],
)
def test_plane_against_travel(bottom_m: float, top_m: float, gap_m: float, crosses: bool) -> None:
    """A plane 0.25 m up that falls to 0.16272 m at 5 m (row one of the height table)."""
    found = clearance_to_travel(0.25, 1, 0, 5, bottom_m, top_m)
    assert found.gap_m == pytest.approx(gap_m, abs=1e-4), TRIG
    assert found.crosses is crosses


def test_the_time_a_trailer_gap_lasts() -> None:
    assert gap_time_s(1.5, 5 / 3.6) == pytest.approx(1.08), "[C] 1.5 m at 5 km/h"


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: height_over_ground_m(1, 90, 1),
        lambda: height_over_ground_m(1, 1, -1),
        lambda: spot_spacing_m(1, 0),
        lambda: smallest_sure_hit_m(1, 1, 0),
        lambda: sure_hits(1, 0, 1),
        lambda: tilt_from_heights_deg(2, 1, 2, 1),
        lambda: clearance_to_travel(1, 0, 5, 1, 0, 1),
        lambda: gap_time_s(1, 0),
    ],
)
def test_numbers_without_meaning_are_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CalculationError):
        impossible()
