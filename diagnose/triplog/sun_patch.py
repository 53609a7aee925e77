"""The sun without a known look: the patch of sky in which it stands when trips come, and when it is there again."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from diagnose.calc.sun import Direction, angle_between_deg, mirrored
from diagnose.triplog.dial import clock_says, gains
from diagnose.triplog.grid import Grid
from diagnose.triplog.records import DAY_S, Bools, Clock, Floats, Ints, Place, Tested
from diagnose.triplog.scan import split
from diagnose.triplog.sun_table import sun_angles, sun_steps
from diagnose.words import say

_AZIMUTH_CELL, _HEIGHT_CELL = 2.0, 1.0
_ACROSS, _UPWARD = int(360 / _AZIMUTH_CELL), int(91 / _HEIGHT_CELL)
_WIDTHS = (2, 3, 4, 5, 6, 8, 10, 14, 20)
_HEIGHTS = (3, 4, 6, 8, 10, 13, 16, 20, 30)
_NEAR_DEG = 25.0
_AIMS: tuple[tuple[str, Callable[[Direction], Direction]], ...] = (
    ("low_sun", lambda aim: aim),
    ("mirrored_sun", mirrored),
)
WORTH_DATES = 0.05

_LOOK_S = 300.0
_YEAR_D = 366
_LEAST_S = 300.0
_MOST_PERIODS = 3


@dataclass(frozen=True, slots=True)
class Patch:
    """A part of the sky, degrees: from its lower left corner, `width` in azimuth and `height`."""

    azimuth: float
    elevation: float
    width: float
    height: float

    def holds(self, azimuth: Floats, elevation: Floats) -> Bools:
        """Whether directions lie in it."""
        up = (elevation >= self.elevation) & (elevation < self.elevation + self.height)
        return np.asarray(up & ((azimuth - self.azimuth) % 360 < self.width))

    @property
    def middle(self) -> Direction:
        """Its centre."""
        return Direction(self.elevation + self.height / 2, (self.azimuth + self.width / 2) % 360)


def sun_patch(grid: Grid, place: Place, until: float, clock: Clock) -> Tested | None:
    """The patch of sky that tells most; named after the look it lies near, if it does."""
    azimuth, up = sun_steps(grid.middle, place)
    seen = up > -_HEIGHT_CELL
    if not (seen & (grid.exposure > 0)).any() or not len(grid.at):
        return None
    found, tried = _search(grid, azimuth, up, seen)
    if found is None:
        return None
    inside = found.holds(azimuth, up) & seen
    detail = ", ".join([says(found), *_beside_looks(found, place)])
    test = split(_name(found, place), grid, grid.count(detail, inside), inside, None, tried)
    if test.p > WORTH_DATES:
        return test
    return replace(test, count=replace(test.count, detail=f"{detail}, {again(found, place, until, clock)}"))


def _search(grid: Grid, azimuth: Floats, up: Floats, seen: Bools) -> tuple[Patch | None, float]:
    """The best patch, and how many are worth counting as tried."""
    column = (azimuth // _AZIMUTH_CELL).astype(np.int64) % _ACROSS
    row = np.clip((up + _HEIGHT_CELL) // _HEIGHT_CELL, 0, _UPWARD - 1).astype(np.int64)
    cell = np.where(seen, row * _ACROSS + column, 0)
    lasting = np.bincount(cell[seen], grid.exposure[seen], _UPWARD * _ACROSS).astype(np.float64)
    at = grid.at[seen[grid.at]]
    counted = np.bincount(cell[at], minlength=_UPWARD * _ACROSS).reshape(_UPWARD, _ACROSS).astype(np.float64)
    best, found, tried, occupied = 0.0, None, 1.0, float((lasting > 0).sum())
    for wide in _WIDTHS:
        for high in _HEIGHTS:
            gain = gains(
                _boxes(counted, high, wide), len(grid.at), _boxes(lasting.reshape(_UPWARD, _ACROSS), high, wide)
            )
            tried += 2 * occupied / (wide * high)
            r, c = np.unravel_index(int(np.argmax(gain)), gain.shape)
            if gain[r, c] > best:
                best = float(gain[r, c])
                found = Patch(c * _AZIMUTH_CELL, (r - 1) * _HEIGHT_CELL, wide * _AZIMUTH_CELL, high * _HEIGHT_CELL)
    return found, tried


def _boxes(values: Floats, high: int, wide: int) -> Floats:
    """Sums over every box of cells, around north."""
    turned = np.concatenate([values, values[:, : wide - 1]], axis=1) if wide > 1 else values
    run = np.cumsum(np.cumsum(np.pad(turned, ((1, 0), (1, 0))), 0), 1)
    return np.asarray(run[high:, wide:] - run[:-high, wide:] - run[high:, :-wide] + run[:-high, :-wide])


def says(patch: Patch) -> str:
    """Centre and size in words."""
    middle = patch.middle
    return say(
        "triplog.sun_patch",
        azimuth=f"{middle.azimuth_deg:.0f}",
        compass=say(f"triplog.compass_{round(middle.azimuth_deg / 45) * 45 % 360}"),
        elevation=f"{middle.elevation_deg:.0f}",
        width=f"{patch.width:.0f}",
        height=f"{patch.height:.0f}",
    )


def _beside_looks(patch: Patch, place: Place) -> list[str]:
    return [
        say("triplog.from_look", degrees=f"{angle_between_deg(patch.middle, look.direction):.0f}", device=look.name)
        for look in place.looks
    ]


def _name(patch: Patch, place: Place) -> str:
    """The pattern's name: near a look, near its mirror image, or of its own."""
    aims = [(name, turn(look.direction)) for look in place.looks for name, turn in _AIMS]
    near, name = min(((angle_between_deg(patch.middle, aim), name) for name, aim in aims), default=(180.0, ""))
    return name if near <= _NEAR_DEG else "sun_patch"


def again(patch: Patch, place: Place, until: float, clock: Clock) -> str:
    """The dates of the year after the log on which the sun stands there for five minutes or more, with the hours."""
    times = until + np.arange(0, _YEAR_D * DAY_S, _LOOK_S)
    there = patch.holds(*sun_angles(times, place))
    local = clock.local(times[there])
    day = (local // DAY_S).astype(np.int64)
    days, counts = np.unique(day, return_counts=True)
    kept = days[counts * _LOOK_S >= _LEAST_S]
    if not len(kept):
        return say("triplog.never_again")
    runs = np.split(kept, np.flatnonzero(np.diff(kept) > 2) + 1)[:_MOST_PERIODS]
    return say("triplog.again", periods="; ".join(_period(run, local, day) for run in runs))


def _period(run: Ints, local: Floats, day: Ints) -> str:
    hours = local[(day >= run[0]) & (day <= run[-1])] % DAY_S
    first, last = (str(np.datetime64(int(d), "D")) for d in (run[0], run[-1]))
    return say(
        "triplog.again_period", first=first, last=last, begin=_hour(hours.min()), end=_hour(hours.max() + _LOOK_S)
    )


def _hour(seconds: float) -> str:
    return clock_says(int(seconds // 60) % 1440)
