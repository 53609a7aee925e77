"""The sun against the direction a receiver looks along."""

from dataclasses import dataclass
from datetime import datetime

from diagnose.calc.sun import Direction, Glare, glare, sun_position
from diagnose.calc.worked import read
from diagnose.calc.worked.draw import Lines, table
from diagnose.calc.worked.shape import Answer, Calculator, Need, Parameter, Rows

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


def sun(*, latitude: float, longitude: float, when: datetime, look: float, elevation: float = 0.0) -> Answer:
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
    return Answer(rows, _meaning(seen, behind, up), _path(up, when))


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


CALCULATORS = (
    Calculator(
        "sun",
        "Does the sun look into the sensor?",
        "sun latitude=51.5N longitude=0.1W when=2025-12-21T15:30Z look=230deg",
        (
            Parameter("latitude", "Latitude", "51.5N", read.coordinate("N", "S", 90)),
            Parameter("longitude", "Longitude", "0.1W", read.coordinate("E", "W", 180)),
            Parameter("when", "Date and time with its offset from UTC", "2025-12-21T16:30+01:00", read.moment),
            Parameter(
                "look", "Where the receiver looks, clockwise from true north", "230deg", read.quantity("deg", 0, 360)
            ),
            Parameter(
                "elevation",
                "How far it looks up (down is negative)",
                "-2deg",
                read.quantity("deg", -89, 89),
                Need.OPTIONAL,
                "0 deg",
            ),
        ),
        sun,
        "The sun's height and bearing for place and time; the angle between two directions by the spherical law of "
        "cosines; a level wet road shows the sun as far below the horizon as it stands above.",
        "Sun position by astral, within about 0.02° of the NREL algorithm; 5° and 15°: judgement",
        "Open horizon at sea level. A compass shows magnetic north: correct it. Sun on a bright or shiny target, or "
        "off a vehicle's side, is not covered.",
        "Never look at the sun, or along a beam, to judge this.",
    ),
)
