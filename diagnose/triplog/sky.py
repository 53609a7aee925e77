"""The sun over the whole log, and how near it comes to where devices look."""

from collections.abc import Sequence

import numpy as np

from diagnose.calc.sun import Direction, mirrored
from diagnose.triplog.records import Bools, Floats, Place
from diagnose.triplog.sun_table import sun_angles, sun_steps
from diagnose.words import say

DARK_DEG = -6.0


def toward(direction: Direction) -> Floats:
    """A direction as a unit vector: east, north, up."""
    return np.asarray(vectors(np.array([direction.azimuth_deg]), np.array([direction.elevation_deg]))[0])


def vectors(azimuth_deg: Floats, elevation_deg: Floats) -> Floats:
    """Directions as unit vectors, one row each: east, north, up."""
    up, turn = np.radians(elevation_deg), np.radians(azimuth_deg)
    return np.stack([np.cos(up) * np.sin(turn), np.cos(up) * np.cos(turn), np.sin(up)], axis=1)


def sun_vectors(times: Floats, place: Place) -> Floats:
    """Unit vectors toward the sun, one row per time."""
    return vectors(*sun_angles(times, place))


def below_horizon(times: Floats, place: Place) -> Bools:
    """Whether it is dark, at evenly spaced times."""
    return np.asarray(sun_steps(times, place)[1] <= DARK_DEG)


def glaring(times: Floats, place: Place, near_deg: Sequence[float]) -> dict[str, list[tuple[str, Bools]]]:
    """For every look and every nearness: when the sun, or its image in a level wet surface, stood so near."""
    masks: dict[str, list[tuple[str, Bools]]] = {"low_sun": [], "mirrored_sun": []}
    if not place.looks:
        return masks
    sun = vectors(*sun_steps(times, place))
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
