"""The sun: against the published NREL example and against pvlib's NREL algorithm."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.sun import Direction, angle_between_deg, glare, mirrored, sun_position
from diagnose.errors import CalculationError

PVLIB = "[C] pvlib 0.16.1 spa_python, sea level, 1013.25 hPa, 15 °C"
TOLERANCE_DEG = 0.03


def test_the_published_worked_example() -> None:
    when = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))
    source = "[L] Reda and Andreas, NREL/TP-560-34302, appendix A.5"
    seen = sun_position(39.742476, -105.1786, when)
    geometric = sun_position(39.742476, -105.1786, when, refraction=False)
    assert 90 - seen.elevation_deg == pytest.approx(50.111622, abs=TOLERANCE_DEG), source
    assert 90 - geometric.elevation_deg == pytest.approx(50.127954, abs=TOLERANCE_DEG), source
    assert seen.azimuth_deg == pytest.approx(194.340241, abs=TOLERANCE_DEG), source


@pytest.mark.parametrize(
    ("latitude", "longitude", "utc", "geometric", "apparent", "azimuth", "source"),
    [
        (51.5, 0, "2025-12-21 15:30", 1.8856, 2.1712, 227.0979, PVLIB),
        (51.5, 0, "2025-03-20 17:30", 5.8951, 6.0350, 262.7653, PVLIB),
        (40, -105, "2025-06-21 02:00", 4.5291, 4.7001, 297.0243, PVLIB),
        (60.17, 24.94, "2025-01-15 09:00", 6.7516, 6.8769, 158.9959, PVLIB),
        (-33.87, 151.21, "2025-06-20 21:30", 4.5510, 4.7214, 57.7221, PVLIB),
        (1.35, 103.82, "2025-09-23 23:30", 8.2737, 8.3790, 90.6751, PVLIB),
        (25, -80, "2025-01-10 12:45", 6.9559, 7.0781, 118.0974, PVLIB),
    ],
)
def test_low_suns_around_the_world(
    latitude: float,
    longitude: float,
    utc: str,
    geometric: float,
    apparent: float,
    azimuth: float,
    source: str,
) -> None:
    when = datetime.fromisoformat(utc).replace(tzinfo=UTC)
    seen = sun_position(latitude, longitude, when)
    bare = sun_position(latitude, longitude, when, refraction=False)
    assert bare.elevation_deg == pytest.approx(geometric, abs=TOLERANCE_DEG), source
    assert seen.elevation_deg == pytest.approx(apparent, abs=TOLERANCE_DEG), source
    assert seen.azimuth_deg == pytest.approx(azimuth, abs=TOLERANCE_DEG), source


@pytest.mark.parametrize(
    ("sun", "beam", "angle_deg"),
    [
        ((10, 250), (0, 250), 10.000),
        ((5, 250), (0, 230), 20.591),
        ((15, 120), (-2, 125), 17.706),
        ((3, 90), (1, 91), 2.236),
    ],
)
def test_angle_between_beam_and_sun(sun: tuple[float, float], beam: tuple[float, float], angle_deg: float) -> None:
    found = angle_between_deg(Direction(*sun), Direction(*beam))
    assert found == pytest.approx(angle_deg, abs=1e-3), "[C] spherical law of cosines"


DIRECTIONS = st.builds(Direction, st.floats(-90, 90), st.floats(0, 360))


@given(DIRECTIONS, DIRECTIONS)
def test_angles_behave(one: Direction, other: Direction) -> None:
    assert angle_between_deg(one, other) == pytest.approx(angle_between_deg(other, one), abs=1e-9)
    assert 0 <= angle_between_deg(one, other) <= 180
    assert mirrored(mirrored(one)) == one
    assert angle_between_deg(mirrored(one), mirrored(other)) == pytest.approx(angle_between_deg(one, other), abs=1e-5)


def test_a_wet_road_brings_the_sun_into_a_receiver_that_looks_down() -> None:
    found = glare(Direction(-10, 200), Direction(10, 200))
    assert found.direct_deg == pytest.approx(20)
    assert found.mirror_deg == pytest.approx(0, abs=1e-5)
    assert found.sun_is_up
    assert not glare(Direction(0, 0), Direction(-1, 0)).sun_is_up


def test_a_time_without_a_zone_and_a_place_off_the_globe_are_refused() -> None:
    with pytest.raises(CalculationError, match="time zone"):
        sun_position(50, 0, datetime(2025, 6, 1, 12, 0))
    with pytest.raises(CalculationError, match="Latitude"):
        sun_position(91, 0, datetime(2025, 6, 1, 12, 0, tzinfo=UTC))
