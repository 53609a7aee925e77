"""Clocks that a pattern may run by: the local one, standard time, the sun's rising and setting, one that drifts.

Each is a dial of 288 slots of five minutes; a window on it is tried at every slot and in some widths.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from diagnose.triplog.grid import STEP_S, Grid
from diagnose.triplog.records import DAY_S, Bools, Floats, Ints, Place
from diagnose.triplog.sun_table import sun_steps
from diagnose.words import say

SLOTS = 288
WIDTHS = np.array([2, 3, 4, 6, 9, 12, 18, 24, 36, 48, 72, 96, 120, 144])
"""Ten minutes to twelve hours: a working day with its breaks."""
TRIED = float((2 * SLOTS / WIDTHS).sum())
"""Windows that are worth counting as tried: neighbours that overlap by more than half are one."""
RISES_DEG = -0.833
Says = Callable[[int, int], str]
"""First slot and width -> words."""


@dataclass(frozen=True, slots=True, eq=False)
class Dial:
    """The day and slot of each step by one clock, and how a window on it is said."""

    name: str
    day: Ints
    slot: Ints
    says: Says


@dataclass(frozen=True, slots=True)
class Window:
    """A window on a dial, its first slot and width, and what the split by it gains."""

    start: int
    width: int
    gain: float

    def holds(self, slot: Ints) -> Bools:
        """Which slots are inside."""
        return np.asarray((slot - self.start) % SLOTS < self.width)


def local_dial(grid: Grid) -> Dial:
    """The clock on the wall."""
    return _dial("time_of_day", grid.local, hours_says)


def standard_dial(grid: Grid) -> Dial | None:
    """A clock that is not set when summer time comes or goes; None where the log has no such change."""
    ahead = grid.local - grid.middle
    if len(np.unique(ahead)) < 2:
        return None
    return _dial("clock_jump", grid.middle + float(ahead.min()), hours_says)


def drifting_dial(grid: Grid, per_day_s: float) -> Dial:
    """A clock on which the pattern comes so many seconds later each day."""
    first = float(grid.local[0] // DAY_S)
    late = (grid.local / DAY_S - first) * per_day_s
    key = "triplog.later_each_day" if per_day_s > 0 else "triplog.earlier_each_day"
    minutes = f"{abs(per_day_s) / 60:.1f}"

    def says(start: int, width: int) -> str:
        return say(key, window=hours_says(start, width), minutes=minutes)

    return _dial("drift", grid.local - late, says)


def sun_dials(grid: Grid, place: Place) -> list[Dial]:
    """Time since the nearest sunrise and the nearest sunset; none where the sun does not rise."""
    up = sun_steps(grid.middle, place)[1] - RISES_DEG
    found = []
    rises, sets = (up[:-1] <= 0) & (up[1:] > 0), (up[:-1] > 0) & (up[1:] <= 0)
    for name, change in (("with_sunrise", rises), ("with_sunset", sets)):
        at = np.flatnonzero(change)
        if len(at) < 2:
            continue
        moment = grid.middle[at] + STEP_S * up[at] / (up[at] - up[at + 1])
        found.append(_since(f"triplog.{name}_window", grid.middle, moment))
    return found


def _since(key: str, middle: Floats, moments: Floats) -> Dial:
    nearest = np.searchsorted((moments[1:] + moments[:-1]) / 2, middle)
    since = np.clip(middle - moments[nearest], -DAY_S / 2, DAY_S / 2 - 1)

    def says(start: int, width: int) -> str:
        first, last = (int((s * STEP_S - DAY_S / 2) // 60) for s in (start, start + width))
        return say(key, first=_signed(first), last=_signed(last))

    return Dial("follows_sun", nearest.astype(np.int64), ((since + DAY_S / 2) // STEP_S).astype(np.int64), says)


def _signed(minutes: int) -> str:
    return say("triplog.minutes_before" if minutes < 0 else "triplog.minutes_after", minutes=abs(minutes))


def _dial(name: str, clock: Floats, says: Says) -> Dial:
    number = np.floor(clock / STEP_S).astype(np.int64)  # of the slot since 1970
    day = number // SLOTS
    return Dial(name, day - day.min(), number - day * SLOTS, says)


def hours_says(start: int, width: int) -> str:
    """'05:20–05:45'."""
    return "–".join(clock_says(slot % SLOTS * 5) for slot in (start, start + width))


def clock_says(minutes: int) -> str:
    """'05:20' of minutes since midnight."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def laid_out(grid: Grid, dial: Dial) -> tuple[Floats, Floats]:
    """Episodes and exposure by day and slot."""
    cell = dial.day * SLOTS + dial.slot
    size = (int(dial.day.max()) + 1) * SLOTS
    counted = np.bincount(cell[grid.at], minlength=size).astype(np.float64)
    return counted.reshape(-1, SLOTS), np.bincount(cell, grid.exposure, size).astype(np.float64).reshape(-1, SLOTS)


def gains(inside: Floats, total: float, share: Floats) -> Floats:
    """`scan.gain` of many splits at once."""
    safe = np.clip(share, 1e-12, 1 - 1e-12)
    out = total - inside
    k, rest = np.maximum(inside, 1e-12), np.maximum(out, 1e-12)
    found = inside * np.log(k / (total * safe)) + out * np.log(rest / (total * (1 - safe)))
    return np.where((inside > total * share) & (share > 0) & (share < 1), found, 0.0)


def summed(values: Floats, widths: Ints = WIDTHS) -> Floats:
    """Sums over every window: (..., slots) -> (..., widths, slots), around midnight."""
    slots = values.shape[-1]
    run = np.cumsum(np.concatenate([np.zeros((*values.shape[:-1], 1)), values, values], axis=-1), axis=-1)
    first = np.arange(slots)
    return np.stack([run[..., first + w] - run[..., first] for w in widths], axis=-2)


def best_window(counted: Floats, lasting: Floats, total: float) -> Window:
    """The window with the largest gain, of counts and exposure by slot."""
    found = gains(summed(counted), total, summed(lasting))
    width, start = np.unravel_index(int(np.argmax(found)), found.shape)
    return Window(int(start), int(WIDTHS[width]), float(found[width, start]))
