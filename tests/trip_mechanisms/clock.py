"""The clock on a site's wall: from seconds since 1970 to what the wall shows, and back."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Rng = np.random.Generator

DAY, HOUR = 86400.0, 3600.0
# database names that are no places; the second figure is what the clock is ahead of UTC in winter
CHANGING = {"WET": 0, "CET": 1, "EET": 2, "EST5EDT": -5, "CST6CDT": -6}


def fixed(hours: float) -> str:
    """A zone that never changes, as the program takes it."""
    return f"{'-' if hours < 0 else '+'}{abs(int(hours)):02d}:00"


class Clock:
    """One zone between two moments; every time is in seconds since 1970."""

    def __init__(self, zone: str, begin: float, end: float) -> None:
        self.zone = zone
        self.changes, self.offsets = _changes(zone, begin - 3 * DAY, end + 3 * DAY)

    def offset(self, t: Floats) -> Floats:
        return self.offsets[np.searchsorted(self.changes, t, side="right")]

    def wall(self, t: Floats) -> Floats:
        """What the wall shows, counted as if it stood in UTC."""
        return t + self.offset(t)

    def utc(self, wall: Floats) -> Floats:
        """Of an hour shown twice: one of both. Of an hour left out: about there."""
        near = wall - self.offset(wall - self.offsets[0])
        return wall - self.offset(near)


def _changes(zone: str, begin: float, end: float) -> tuple[Floats, Floats]:
    if zone[0] in "+-":
        hours = float(zone[1:3]) * (-1 if zone[0] == "-" else 1)
        return np.zeros(0), np.array([hours * HOUR])
    info = ZoneInfo(zone)
    changes, offsets, at = [], [_offset(info, begin)], begin
    while at < end:
        now = _offset(info, at + DAY)
        if now != offsets[-1]:
            changes.append(_moment(info, at, offsets[-1]))
            offsets.append(now)
        at += DAY
    return np.array(changes), np.array(offsets)


def _offset(info: ZoneInfo, t: float) -> float:
    ahead = datetime.fromtimestamp(t, UTC).astimezone(info).utcoffset()
    assert ahead is not None
    return ahead.total_seconds()


def _moment(info: ZoneInfo, begin: float, before: float) -> float:
    """The whole hour within a day at which the offset is no longer what it was."""
    hour = float(int(begin // HOUR) * HOUR)
    while _offset(info, hour) == before:
        hour += HOUR
    return hour


def hour_of(wall: Floats) -> Floats:
    return np.floor(wall / HOUR) % 24


def weekday_of(wall: Floats) -> Floats:
    """Monday is 0; 1970 began with a Thursday."""
    return (np.floor(wall / DAY) + 3) % 7


def iso(t: float) -> str:
    return datetime.fromtimestamp(round(t), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
