"""Vehicles that were let in: trips that follow an opening word in a window of seconds that the log itself shows."""

from dataclasses import dataclass

import numpy as np

from diagnose.triplog.episodes import since_latest
from diagnose.triplog.records import Bools, Floats, Ints

REACH_S = 180.0
"""A vehicle that was let in passes within three minutes (judgement)."""
REACH_MINUTES_S = 600.0
"""The same where times are written to the minute."""
SOONEST_S = 2.0
"""Nothing on wheels comes sooner after it was let in: what does is the gate, or the wiring (judgement)."""
CHAIN_S = 5.0
LEAST_FOLLOWED = 0.3
AGAIN_S = 10.0
SELDOM = 0.25
"""Of vehicles, those with a trailer or a gap between axles (judgement)."""
_LEAST_GAIN = 12.0
_FEWEST = 8
_APART = 0.9
"""Durations count where they tell vehicles from other trips nine times in ten."""
_THIN = 0.1
_LOOKED_S = 5
_MOST_CLAIMS = 8


@dataclass(frozen=True, slots=True)
class LetIn:
    """From `first` to `last` seconds after an opening a trip is a vehicle's; `step` is the resolution of the log."""

    first: float
    last: float
    step: float


def delays(after: Floats, events: Floats, low: float, high: float) -> Floats:
    """Seconds from each of `after` to every one of the rising `events` from `low` to `high` seconds off."""
    first, last = np.searchsorted(events, after + low, "left"), np.searchsorted(events, after + high, "right")
    many = last - first
    at = np.repeat(first - np.concatenate(([0], np.cumsum(many)[:-1])), many) + np.arange(many.sum())
    return np.asarray(events[at] - np.repeat(after, many))


def own_answers(opens: Floats, trips: Floats, step: float) -> Bools:
    """Openings that are the gate's own answer to a trip: so shortly after one, and so often, is no coincidence."""
    none = np.zeros(len(opens), bool)
    if step > 1 or not len(opens) or not len(trips):
        return none
    soon = since_latest(opens, trips) <= CHAIN_S
    usual = len(delays(opens, trips, -REACH_S, -CHAIN_S)) * CHAIN_S / (REACH_S - CHAIN_S)
    excess = _gain(float(soon.sum()), usual + 0.5)
    return np.asarray(soon) if soon.sum() >= _FEWEST / 2 and excess >= _LEAST_GAIN / 2 else none


def _gain(found: float, expected: float) -> float:
    """Log-likelihood gained over chance by a count above what chance gives."""
    return found * np.log(found / expected) - (found - expected) if found > expected else 0.0


def learn(opens: Floats, trips: Floats, step: float) -> LetIn | None:
    """The window after an opening in which far more trips come than by chance, which is what comes before openings.

    None where too few openings are followed, or where the trips come sooner than a vehicle can.
    """
    reach = REACH_S if step <= 1 else REACH_MINUTES_S
    found = delays(opens, trips, 0.0, reach)
    if len(found) < _FEWEST:
        return None
    chance = (len(delays(opens, trips, -reach, -max(step, CHAIN_S))) + 0.5) / reach * step  # per bin
    counts = np.bincount((found // step).astype(np.int64), minlength=int(reach / step) + 1)
    first, last = _densest(counts, chance)
    first, last = _main_part(counts, first, last)
    first, last = _stretched(counts, first, last, chance)
    inside = counts[first : last + 1].sum()
    followed = (inside - chance * (last + 1 - first)) / len(opens)
    if inside < _FEWEST or followed < LEAST_FOLLOWED or _gain(inside, chance * (last + 1 - first)) < _LEAST_GAIN:
        return None
    kept = found[(found >= first * step) & (found < (last + 1) * step)]
    low, high = float(kept.min()), float(kept.max())
    return None if step <= 1 and float(np.median(kept)) < SOONEST_S else LetIn(low, high, step)


def again(vehicles: Floats, trips: Floats) -> LetIn | None:
    """The seconds after a vehicle's trip in which another comes more often than by chance, and yet seldom."""
    found = delays(vehicles, trips, 0.0, AGAIN_S)
    chance = (len(delays(vehicles, trips, -REACH_S, -AGAIN_S)) + 0.5) / (REACH_S - AGAIN_S)
    counts = np.bincount(found.astype(np.int64), minlength=int(AGAIN_S) + 1)
    first, last = _densest(counts, chance)
    inside = counts[first : last + 1].sum()
    seldom = inside <= SELDOM * len(vehicles)
    if inside < _FEWEST or not seldom or _gain(inside, chance * (last + 1 - first)) < _LEAST_GAIN:
        return None
    kept = found[(found >= first) & (found < last + 1)]
    return LetIn(float(kept.min()), float(kept.max()), 1.0)


def _densest(counts: Ints, chance: float) -> tuple[int, int]:
    """The run of bins that gains most over chance."""
    total = np.concatenate(([0.0], np.cumsum(counts)))
    k = total[None, 1:] - total[:-1, None]
    size = np.arange(len(counts))
    expected = chance * (size[None, :] - size[:, None] + 1)
    better = (expected > 0) & (k > expected)
    ratio = np.log(np.where(better, k, 1.0) / np.where(better, expected, 1.0))
    first, last = np.unravel_index(int(np.argmax(np.where(better, k * ratio - (k - expected), 0.0))), k.shape)
    return int(first), int(last)


def _main_part(counts: Ints, first: int, last: int) -> tuple[int, int]:
    """Where two hills stand apart in the run, the larger: a vehicle passes once, so the other has another cause."""
    part = counts[first : last + 1]
    thin = part <= _THIN * part.mean()
    gap = thin & (np.roll(thin, 1) | np.roll(thin, -1))
    edges = np.flatnonzero(np.diff(np.concatenate(([True], gap, [True])).astype(np.int8)))
    runs = [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    if not runs:
        return first, last
    a, b = max(runs, key=lambda run: part[run[0] : run[1]].sum())
    return first + a, first + b - 1


def _stretched(counts: Ints, first: int, last: int, chance: float) -> tuple[int, int]:
    """With the tails that a steep rise leaves out, as long as they hold four times what chance gives."""

    for looked, least in ((1, 0.0), (_LOOKED_S, 1.0)):

        def more(part: Ints, least: float = least) -> bool:
            return len(part) > 0 and part.sum() >= max(2.0, 4 * chance * len(part) + least)

        while more(counts[last + 1 : last + 1 + looked]):
            last += looked
        while more(counts[max(0, first - looked) : first]):
            first = max(0, first - looked)
    return first, min(last, len(counts) - 1)


def followers(opens: Floats, trips: Floats, window: LetIn, fits: Bools) -> Ints:
    """For each opening the first trip in the window that `fits` and follows no earlier opening; -1 for none."""
    which, room = np.flatnonzero(fits), 1e-6
    times = np.append(trips[which], np.inf)
    at = np.searchsorted(times, opens + window.first - room, "left")
    for _ in range(_MOST_CLAIMS):
        inside = times[np.minimum(at, len(which))] <= opens + window.last + room
        taken = np.maximum.accumulate(np.where(inside, at, -1))
        again = inside & (at <= np.concatenate(([-1], taken[:-1])))
        if not again.any():
            break
        at = at + again  # a trip that two openings claim is the earlier one's; the later takes the next
    return np.where(inside & ~again, np.append(which, -1)[np.minimum(at, len(which))], -1)


@dataclass(frozen=True, slots=True)
class Lasting:
    """How long vehicles trip the sensor, seconds: nine in ten of theirs and of the others'."""

    low: float
    high: float
    other_low: float
    other_high: float
    limit: float
    longer: bool


def lasting(durations: Floats, vehicles: Bools) -> Lasting | None:
    """What durations tell vehicles from other trips by, or None where they do not tell them apart."""
    known = ~np.isnan(durations)
    mine, others = durations[known & vehicles], durations[known & ~vehicles]
    if len(mine) < _FEWEST or len(others) < _FEWEST:
        return None
    limits = np.unique(np.concatenate([mine, others]))
    mine, others = np.sort(mine), np.sort(others)
    above = 1 - np.searchsorted(mine, limits, "left") / len(mine)
    other_above = 1 - np.searchsorted(others, limits, "left") / len(others)
    gain = above - other_above
    at = int(np.argmax(np.abs(gain)))
    longer = bool(gain[at] > 0)
    right = (above[at] + 1 - other_above[at]) / 2 if longer else (1 - above[at] + other_above[at]) / 2
    if right < _APART:
        return None
    low, high, other_low, other_high = (float(np.quantile(v, q)) for v in (mine, others) for q in (0.05, 0.95))
    return Lasting(low, high, other_low, other_high, float(limits[at]), longer)
