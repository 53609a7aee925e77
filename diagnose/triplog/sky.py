"""The sun over the whole log, and how near it comes to where devices look."""

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import lru_cache

import numpy as np

from diagnose.calc.sun import Direction, mirrored, sun_position
from diagnose.triplog.records import Bools, Floats, Place
from diagnose.words import say

_EVERY_S = 600.0
"""Between positions this far apart the sun moves 2.5°, nearly straight: interpolated."""
DARK_DEG = -6.0


def toward(direction: Direction) -> Floats:
    """A direction as a unit vector: east, north, up."""
    up, turn = np.radians(direction.elevation_deg), np.radians(direction.azimuth_deg)
    return np.array([np.cos(up) * np.sin(turn), np.cos(up) * np.cos(turn), np.sin(up)])


@lru_cache(maxsize=4)  # several tests and plots ask for the same path
def _path(latitude_deg: float, longitude_deg: float, first: int, last: int) -> Floats:
    times = (datetime.fromtimestamp(k * _EVERY_S, UTC) for k in range(first, last + 1))
    return np.array([toward(sun_position(latitude_deg, longitude_deg, t)) for t in times])


def sun_vectors(times: Floats, place: Place) -> Floats:
    """Unit vectors toward the sun, one row per time."""
    first, last = int(times[0] // _EVERY_S), int(times[-1] // _EVERY_S) + 1
    knots = np.arange(first, last + 1) * _EVERY_S
    table = _path(place.latitude_deg, place.longitude_deg, first, last)
    vectors = np.stack([np.interp(times, knots, table[:, axis]) for axis in range(3)], axis=1)
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))


def below_horizon(times: Floats, place: Place) -> Bools:
    """Whether it is dark."""
    return np.asarray(sun_vectors(times, place)[:, 2] <= np.sin(np.radians(DARK_DEG)))


def glaring(times: Floats, place: Place, near_deg: Sequence[float]) -> dict[str, list[tuple[str, Bools]]]:
    """For every look and every nearness: when the sun, or its image in a level wet surface, stood so near."""
    masks: dict[str, list[tuple[str, Bools]]] = {"low_sun": [], "mirrored_sun": []}
    if not place.looks:
        return masks
    sun = sun_vectors(times, place)
    up = sun[:, 2] > 0
    for look in place.looks:
        straight = sun @ toward(look.direction)
        image = sun @ toward(mirrored(look.direction))
        for near in near_deg:
            close = np.cos(np.radians(near))
            sunny = say("triplog.near_sun", degrees=f"{near:g}", device=look.name)
            masks["low_sun"].append((sunny, up & (straight >= close)))
            words = say("triplog.near_image", degrees=f"{near:g}", device=look.name)
            masks["mirrored_sun"].append((words, up & (image >= close) & (straight < close)))
    return masks
