"""Night by the clock, and a fixed period that keeps its phase over the whole log."""

from math import log

import numpy as np

from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.exact import most_shown, rayleigh
from diagnose.triplog.grid import Grid
from diagnose.triplog.records import DAY_S, Bools, Count, Floats, Tested
from diagnose.triplog.scan import best_mask, gain, tested
from diagnose.words import say

LONGEST_PERIOD_S = 10 * 3600.0
SHORTEST_PERIOD_S = 240.0
_MOST_STEPS = 1 << 20
_WEEKLY_TO = 12
_PHASES = 24
_SHARPENED = 41
_PHASE_WIDTHS = (1, 2, 3, 6)


def night_by_clock(grid: Grid) -> Tested | None:
    """Night where the place is not known: by the clock."""
    hour = grid.hour
    return best_mask("dark", grid, [(say("triplog.by_clock"), (hour >= 21) | (hour < 5))])


def period(grid: Grid, gap_s: float = GAP_S) -> Tested | None:
    """The strongest fixed period from four minutes (or twice the episode gap) to ten hours."""
    lasting = float(grid.middle[-1] - grid.middle[0])
    shortest, longest = max(SHORTEST_PERIOD_S, 2 * gap_s), min(LONGEST_PERIOD_S, lasting / 4)
    n = len(grid.episodes)
    if n < 8 or longest <= 2 * shortest:
        return None
    step = max(shortest / 8, lasting / (_MOST_STEPS - 2))
    shortest = max(shortest, 4 * step)
    frequency, strength = _spectrum(grid, step, lasting, (1 / longest, 1 / shortest))
    usable = ~_divides_a_day(frequency, lasting)
    if not usable.any():
        return None
    level = max(1.0, float(np.median(strength[usable])) / log(2))  # trips in clumps raise every frequency
    strength = strength / level
    at = int(np.argmax(np.where(usable, strength, 0.0)))
    independent = lasting * (1 / shortest - 1 / longest)
    return _folded(grid, float(frequency[at]), float(strength[at]), independent, longest)


def _divides_a_day(frequency: Floats, lasting: float) -> Bools:
    """What comes at an hour of the day has power at every whole part of a day, and beside it by day of the week."""
    a_day = frequency * DAY_S
    off = np.abs(a_day - np.round(a_day))
    width = 1.5 * DAY_S / lasting
    beside = np.abs(off - 1 / 7) <= width
    return np.asarray((off <= width) | (beside & (np.round(a_day) <= _WEEKLY_TO)))


def _spectrum(grid: Grid, step: float, lasting: float, band: tuple[float, float]) -> tuple[Floats, Floats]:
    """Rayleigh's z at each frequency of a band, of the episodes less what exposure alone would give."""
    steps = int(lasting / step) + 2
    origin = float(grid.middle[0])
    events = np.bincount(np.clip((grid.episodes - origin) // step, 0, steps - 1).astype(np.int64), minlength=steps)
    centre = origin + (np.arange(steps) + 0.5) * step
    expected = np.interp(centre, grid.middle, grid.exposure)
    n = len(grid.episodes)
    size = 1 << (4 * steps - 1).bit_length()
    wave = np.fft.rfft(events - n * expected / expected.sum(), size)
    first, last = (int(np.ceil(f * size * step)) for f in band)
    kept = wave[first : last + 1]
    number = np.arange(first, first + len(kept), dtype=np.float64)
    return number / (size * step), np.asarray(kept.real**2 + kept.imag**2, np.float64) / n


def _folded(grid: Grid, frequency: float, z: float, independent: float, longest: float) -> Tested:
    """The period, or a small multiple of it, at which the folded episodes lie in the narrowest window."""
    searched = int(independent * len(_PHASE_WIDTHS) * _PHASES)
    options = [k / frequency for k in range(1, 7) if k / frequency <= longest]
    folded = [_window(_sharpened(grid.episodes, p, float(np.ptp(grid.middle))), grid.episodes) for p in options]
    best = max(folded, key=gain)
    found = tested("period", best, max(searched, 1))
    n = len(grid.episodes)
    alone = rayleigh(n, min(1.0, (z / n) ** 0.5))[1]
    p = min(1.0, 3 * independent * alone)  # three: neighbouring frequencies are looked at too
    strength = min(found.log_bayes, most_shown(p))
    return Tested("period", best, found.ratio, found.low, found.high, p, strength, found.searched)


def _sharpened(episodes: Floats, period_s: float, lasting: float) -> float:
    """The period near `period_s` at which the episodes agree best."""
    tries = 1 / period_s + np.linspace(-0.5, 0.5, _SHARPENED) / lasting
    turned = 2j * np.pi * (episodes - episodes[0])
    wave, further = np.exp(turned * tries[0]), np.exp(turned * (tries[1] - tries[0]))
    agree = []
    for _ in tries:  # from one try to the next every episode turns on by the same angle
        agree.append(abs(wave.sum()))
        wave *= further
    return float(1 / tries[int(np.argmax(agree))])


def _window(period_s: float, episodes: Floats) -> Count:
    phase = np.minimum((episodes % period_s) / period_s * _PHASES, _PHASES - 1).astype(np.int64)
    around = np.concatenate(([0], np.cumsum(np.tile(np.bincount(phase, minlength=_PHASES), 2))))
    n = len(episodes)
    detail = say("triplog.every", period=_lasting(period_s))
    windows = [
        Count(detail, int(around[s + w] - around[s]), n, w / _PHASES) for w in _PHASE_WIDTHS for s in range(_PHASES)
    ]
    return max(windows, key=gain)


def _lasting(seconds: float) -> str:
    if seconds < 7200:
        return say("present.minutes", number=f"{seconds / 60:.1f}")
    return say("triplog.hours", number=f"{seconds / 3600:.2f}")
