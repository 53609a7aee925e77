"""Where the gate stands and its devices look: from options, profiles or a visit; as numbers or in words."""

import argparse
import re
from collections.abc import Mapping

from diagnose.calc.sun import Direction
from diagnose.model.visit import Value
from diagnose.store.profiles import load_profile, profile_facts
from diagnose.triplog.records import LookDirection, Place, TripLogError
from diagnose.words import say

_POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_SHORT = ("n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw")
_ANGLE = r"([+-]?\d{1,3}(?:[.,]\d+)?)\s*°?\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*['′])?\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*[\"″])?"
_LETTERED = re.compile(rf"\b{_ANGLE}\s*([NS])(?:orth|outh)?\b\W*{_ANGLE}\s*([EW])(?:ast|est)?\b", re.IGNORECASE)


def place_of(args: argparse.Namespace, facts: Mapping[str, Value]) -> Place | None:
    """The place from options, else from the profiles or the visit; None when the position is not known."""
    known = {**facts, **profile_facts(filter(None, (args.site, args.device)))}
    at = _position(args.position) or _of_profile(args.site, known)
    directions = [_look(text) for text in args.look]
    azimuth = known.get("device.look_azimuth_deg")
    if not directions and isinstance(azimuth, int | float):
        directions = [Direction(0.0, float(azimuth))]
    if at is None:
        if args.look:
            raise TripLogError(say("cli.triplog_look_where"))
        return None
    if not (-90 <= at[0] <= 90 and -180 <= at[1] <= 180):
        raise TripLogError(say("cli.triplog_degrees"))
    looks = tuple(LookDirection(_look_name(i, len(directions)), d) for i, d in enumerate(directions))
    return Place(at[0], at[1], looks)


def _position(text: str) -> tuple[float, float] | None:
    """Degrees north and east: '48.2,11.3', '48.20 N 11.30 E', '48°12'N, 11°18'E'."""
    if not text:
        return None
    if said := position_in(text):
        return said
    north, east = numbers(text, 2, "--position")
    return north, east


def _of_profile(site: str, known: Mapping[str, Value]) -> tuple[float, float] | None:
    """The facts of a profile or a visit, else what the profile of the site says in words."""
    north, east = known.get("site.latitude"), known.get("site.longitude")
    if isinstance(north, int | float) and isinstance(east, int | float):
        return float(north), float(east)
    return position_in(load_profile(site).says) if site else None


def position_in(text: str) -> tuple[float, float] | None:
    """A position with its letters anywhere in a text, or None."""
    found = _LETTERED.search(text)
    if found is None:
        return None
    north, south = _degrees(*found.groups()[:3]), found.group(4).upper() == "S"
    east, west = _degrees(*found.groups()[4:7]), found.group(8).upper() == "W"
    return -north if south else north, -east if west else east


def _degrees(whole: str, minutes: str | None, seconds: str | None) -> float:
    parts = [float((part or "0").replace(",", ".")) for part in (whole, minutes, seconds)]
    return parts[0] + parts[1] / 60 + parts[2] / 3600


def _look(text: str) -> Direction:
    """An azimuth with or without an elevation; the azimuth may be a compass word: 'south-west', 'SSW'."""
    first, comma, rest = text.partition(",")
    azimuth = compass_deg(first)
    if azimuth is None:
        turn, up = numbers(text, 2, "--look")
        return Direction(up, turn)
    return Direction(numbers(rest, 1, "--look")[0] if comma else 0.0, azimuth)


def compass_deg(text: str) -> float | None:
    """Degrees from north of a compass word, or None."""
    word = re.sub(r"[\s_-]+", "-", text.strip().casefold()).removesuffix("-")
    word = re.sub(r"^(north|south)(east|west)$", r"\1-\2", word)
    if word in _POINTS:
        return 45.0 * _POINTS.index(word)
    return 22.5 * _SHORT.index(word) if word in _SHORT else None


def _look_name(number: int, of: int) -> str:
    return say("cli.the_device") if of == 1 else say("cli.device_number", number=number + 1)


def numbers(text: str, most: int, option: str) -> list[float]:
    """Numbers between commas, the missing last ones 0. Raises TripLogError."""
    try:
        found = [float(part) for part in text.split(",")]
    except ValueError as error:
        raise TripLogError(say("cli.triplog_numbers", option=option, typed=text)) from error
    if len(found) > most or (option == "--position" and len(found) < most):
        raise TripLogError(say("cli.triplog_many_numbers", option=option, most=most, typed=text))
    return found + [0.0] * (most - len(found))
