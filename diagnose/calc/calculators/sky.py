"""The sun against the direction a receiver looks along."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated

from diagnose.calc import read
from diagnose.calc.calculator import AskedInput, Finished, Rows, Solution, calculator
from diagnose.calc.draw import Lines, table
from diagnose.calc.read import Quantity
from diagnose.calc.sun import Direction, Glare, glare, sun_position
from diagnose.errors import CalculationError
from diagnose.words import say

Degrees = Annotated[float, "deg"]
STRONG_DEG, NEAR_DEG = 5.0, 15.0
"""Sun this near the look direction: a plausible cause; worth a look (judgement)."""


@dataclass(frozen=True, slots=True)
class _Hour:
    when: datetime
    sun: Direction
    seen: Glare

    @property
    def nearest_deg(self) -> float:
        return min(self.seen.direct_deg, self.seen.mirror_deg)


@calculator(
    "sun",
    "Does the sun look into the sensor?",
    example="sun latitude=51.5N longitude=0.1W when=2025-12-21T15:30Z look=230deg",
    formula=(
        "The sun's height and bearing for place and time; the angle between two directions by the spherical law of "
        "cosines; a level wet road shows the sun as far below the horizon as it stands above."
    ),
    source="Sun position by astral, within about 0.02° of the NREL algorithm; 5° and 15°: judgement",
    limits=(
        "Open horizon at sea level. A compass shows magnetic north: correct it. Sun on a bright or shiny target, or "
        "off a vehicle's side, is not covered."
    ),
    caution="Never look at the sun, or along a beam, to judge this.",
)
def sun(
    *,
    latitude: Annotated[float, AskedInput("Latitude", "51.5N", read.coordinate("N", "S", 90))],
    longitude: Annotated[float, AskedInput("Longitude", "0.1W", read.coordinate("E", "W", 180))],
    when: Annotated[
        datetime, AskedInput("Date and time with its offset from UTC", "2025-12-21T16:30+01:00", read.moment)
    ],
    look: Annotated[
        float, AskedInput("Where the receiver looks, clockwise from true north", "230deg", Quantity("deg", 0, 360))
    ],
    elevation: Annotated[
        float, AskedInput("How far it looks up (down is negative)", "-2deg", Quantity("deg", -89, 89))
    ] = 0.0,
) -> Solution:
    """Sun and its mirror image against the look direction: degrees; `when` carries its offset from UTC."""
    ahead, back = Direction(elevation, look), Direction(-elevation, (look + 180) % 360)
    position = sun_position(latitude, longitude, when)
    seen, behind = glare(ahead, position), glare(back, position)
    day = [_hour(ahead, latitude, longitude, when.replace(hour=hour, minute=0)) for hour in range(24)]
    up = [hour for hour in day if hour.seen.sun_is_up]
    rows: Rows = (
        ("sun", f"{position.elevation_deg:.1f}° high at {position.azimuth_deg:.1f}° from north"),
        ("from the look direction", f"{seen.direct_deg:.1f}° direct, {seen.mirror_deg:.1f}° mirrored in a wet road"),
        ("a unit looking the other way", f"{behind.direct_deg:.1f}° direct, {behind.mirror_deg:.1f}° mirrored"),
        ("nearest that day, on the hour", _nearest(up)),
    )
    return Solution(rows, _meaning(seen, behind, up), _path(up, when))


def _hour(look: Direction, latitude: float, longitude: float, when: datetime) -> _Hour:
    position = sun_position(latitude, longitude, when)
    return _Hour(when, position, glare(look, position))


def _nearest(up: list[_Hour]) -> str:
    if not up:
        return "the sun does not rise"
    best = min(up, key=lambda hour: hour.nearest_deg)
    return f"{best.nearest_deg:.0f}° at {best.when:%H:%M}"


def _meaning(seen: Glare, behind: Glare, up: list[_Hour]) -> str:
    if not seen.sun_is_up:
        return "The sun is down at that time: it is not the cause then." + _later(up)
    angles = {"the sun": seen.direct_deg, "its mirror image in a wet road": seen.mirror_deg}
    what, angle = min(angles.items(), key=lambda item: item[1])
    if angle < STRONG_DEG:
        return f"At that time {what} stands in the sensor's eye: a likely cause. Shade or turn it, and compare."
    if angle < NEAR_DEG:
        return f"At that time {what} is near the look direction: shade the window and see whether the fault goes."
    if min(behind.direct_deg, behind.mirror_deg) < NEAR_DEG:
        return (
            "The sun is in the eye of a unit that looks the other way: with two units, see which one is the receiver."
        )
    return "The sun is well away at that time: look for another cause." + _later(up)


def _later(up: list[_Hour]) -> str:
    near = [f"{hour.when:%H:%M}" for hour in up if hour.nearest_deg < NEAR_DEG]
    return f" On that day it comes near at {', '.join(near)}." if near else ""


def _path(up: list[_Hour], when: datetime) -> Lines:
    """One line per hour of sun: '>' the hour asked for, '*' near the look direction."""
    if not up:
        return ()
    rows: list[tuple[str, ...]] = [("  time", "high", "north", "away", "mirror", "")]
    for hour in up:
        mark = "> " if hour.when.hour == when.hour else "  "
        numbers = (hour.sun.elevation_deg, hour.sun.azimuth_deg, hour.seen.direct_deg, hour.seen.mirror_deg)
        near = "*" if hour.nearest_deg < NEAR_DEG else ""
        rows.append((f"{mark}{hour.when:%H:%M}", *(f"{number:.0f}" for number in numbers), near))
    return table(rows, (8, 6, 7, 6, 8, 3))


@calculator(
    "sun_in_view",
    "Whether the sun can stand near the look direction",
    words={
        "clear_of_sun": "the sun is not near the look direction at that hour",
        "near_sun": "the sun stands near the look direction at that hour",
    },
)
def sun_in_view(
    *,
    azimuth: Degrees,
    latitude: Degrees,
    longitude: Degrees,
    month: float,
    hour: Annotated[float, "h"],
    elevation: Degrees = 0.0,
) -> Finished:
    """Whether the sun or its mirror image can stand near the look direction; the hour is solar time.

    The sun is tried every half hour around the hour and on the 6th, 15th and 25th of the month.
    """
    look = Direction(elevation, azimuth)
    angles = [_sun_angle(look, latitude, longitude, when) for when in _times(month, hour, longitude)]
    nearest = min((a for a in angles if a is not None), default=180.0)
    word = "near_sun" if nearest < NEAR_DEG else "clear_of_sun"
    says = say("calc.sun", degrees=f"{nearest:.0f}", near=f"{NEAR_DEG:g}")
    return Finished(word, says)


def _times(month: float, hour: float, longitude: float) -> list[datetime]:
    if not (1 <= month <= 12 and 0 <= hour <= 24):
        raise CalculationError("month runs from 1 to 12 and hour from 0 to 24")
    days = [datetime(2025, int(month), day, tzinfo=UTC) for day in (6, 15, 25)]
    return [day + timedelta(hours=hour - longitude / 15 + step / 2) for day in days for step in (-2, -1, 0, 1, 2)]


def _sun_angle(look: Direction, latitude: float, longitude: float, when: datetime) -> float | None:
    seen = glare(look, sun_position(latitude, longitude, when))
    return min(seen.direct_deg, seen.mirror_deg) if seen.sun_is_up else None
