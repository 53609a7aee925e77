"""Where the sun stands and how close it is to the line a receiver looks along.

Positions come from astral (within about 0.02° of the NREL algorithm over a year at five sites). Sunrise and
sunset functions of astral are not used: near the date line of UTC they return the next day's event.
"""

from dataclasses import dataclass
from datetime import datetime
from math import acos, cos, degrees, radians, sin

from astral import Observer
from astral.sun import azimuth, elevation

from diagnose.errors import CalculationError


@dataclass(frozen=True, slots=True)
class Direction:
    """A direction in degrees: elevation above the horizon, azimuth clockwise from true north."""

    elevation_deg: float
    azimuth_deg: float


@dataclass(frozen=True, slots=True)
class Glare:
    """Degrees between the look direction and the sun, and the sun's mirror image in a level wet surface."""

    direct_deg: float
    mirror_deg: float
    sun_is_up: bool


def sun_position(latitude_deg: float, longitude_deg: float, when: datetime, *, refraction: bool = True) -> Direction:
    """The sun at a place and time; `when` must carry its time zone. Sea level is assumed."""
    if when.utcoffset() is None:
        raise CalculationError("The time needs a time zone.")
    if not (-90 <= latitude_deg <= 90 and -180 <= longitude_deg <= 180):
        raise CalculationError("Latitude runs from -90 to 90 and longitude from -180 to 180 degrees.")
    observer = Observer(latitude_deg, longitude_deg, 0.0)
    return Direction(elevation(observer, when, with_refraction=refraction), azimuth(observer, when))


def angle_between_deg(one: Direction, other: Direction) -> float:
    """Degrees between two directions: cos = sin·sin + cos·cos·cos of the azimuth difference."""
    first, second = radians(one.elevation_deg), radians(other.elevation_deg)
    turn = radians(one.azimuth_deg - other.azimuth_deg)
    cosine = sin(first) * sin(second) + cos(first) * cos(second) * cos(turn)
    return degrees(acos(max(-1.0, min(1.0, cosine))))


def mirrored(direction: Direction) -> Direction:
    """The direction as reflected in a level surface (wet road, standing water): elevation changes sign."""
    return Direction(-direction.elevation_deg, direction.azimuth_deg)


def glare(look: Direction, sun: Direction) -> Glare:
    """How near the sun and its mirror image are to the direction a receiver looks along.

    Judge both units of a light barrier: each looks the opposite way. Below about 5° direct sun is a
    plausible cause (judgement); the sun's disc itself is 0.53° wide.
    """
    return Glare(angle_between_deg(look, sun), angle_between_deg(look, mirrored(sun)), sun.elevation_deg > 0)
