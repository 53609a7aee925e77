"""The calendar: a window of the day by any clock, several windows, days of the week, every n-th day."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.triplog.dial import (
    SLOTS,
    TRIED,
    WIDTHS,
    Dial,
    Window,
    best_window,
    drifting_dial,
    gains,
    hours_says,
    laid_out,
    local_dial,
    standard_dial,
    summed,
    sun_dials,
)
from diagnose.triplog.exact import fisher
from diagnose.triplog.grid import Grid
from diagnose.triplog.records import DAY_S, Bools, Floats, Ints, Log, Tested
from diagnose.triplog.scan import split
from diagnose.words import say

DAYS = 7
LEAST_WEEKS_S = 13 * DAY_S
NTH = (2, 3, 4, 5, 6, 8, 9, 10, 14)
LEAST_TURNS = 3
"""Days on which something due must have come, before 'every n-th day' or 'on Tuesdays' is said of a window."""
DAYS_DIFFER = 0.01
"""p at which the days on which a window is used are not all days (judgement)."""
_LOOKED_AT = 8
SUN_OVER_DRIFT = 100.0
"""Where the sun's times are known, a drift of its own counts as so many times less likely (judgement)."""
DRIFT_ADDS = np.log(20)
"""A clock that everybody has is the plainer account: a drift must tell so much more (judgement)."""
_LEAST_DRIFT_D = 14
_DRIFTS_S = np.concatenate([np.arange(-240, 0, 20), np.arange(20, 241, 20)]).astype(np.float64)
_COARSE = 3
_BETWEEN = 4
"""An hour at least between two windows, in quarter hours, and half a window; nearer ones are one stretch."""
_PAIR_WIDTHS = np.array([1, 2, 4, 8, 16])


def by_clock(grid: Grid, log: Log) -> list[Tested]:
    """The best window of the day by every clock there is."""
    dials = [local_dial(grid), standard_dial(grid), *(sun_dials(grid, log.place) if log.place else [])]
    found = [_window(grid, dial) for dial in dials if dial]
    drift = _drift(grid, SUN_OVER_DRIFT if log.place else 1.0)
    fixed = max(t.log_bayes for t in found)
    return strongest([*found, drift if drift and drift.log_bayes > fixed + DRIFT_ADDS else None])


def strongest(tests: Sequence[Tested | None]) -> list[Tested]:
    """Of several tests by one name the strongest."""
    best: dict[str, Tested] = {}
    for test in filter(None, tests):
        if test.name not in best or test.log_bayes > best[test.name].log_bayes:
            best[test.name] = test
    return list(best.values())


def _window(grid: Grid, dial: Dial, tried: float = TRIED) -> Tested:
    counted, lasting = laid_out(grid, dial)
    best = best_window(counted.sum(0), lasting.sum(0), len(grid.at))
    return _tested(dial.name, grid, dial, best, np.ones(len(grid.middle), bool), "", tried)


def _tested(name: str, grid: Grid, dial: Dial, window: Window, days: Bools, on: str, tried: float) -> Tested:
    inside = window.holds(dial.slot) & days
    detail = " ".join(filter(None, [dial.says(window.start, window.width), on]))
    return split(name, grid, grid.count(detail, inside), inside, None, tried)


def _drift(grid: Grid, dearer: float) -> Tested | None:
    """The best window that comes later, or earlier, by the same time each day."""
    if grid.middle[-1] - grid.middle[0] < _LEAST_DRIFT_D * DAY_S:
        return None
    found = [(best_window(*_all_days(grid, d), len(grid.at)), d) for d in (drifting_dial(grid, s) for s in _DRIFTS_S)]
    window, dial = max(found, key=lambda f: f[0].gain)
    tried = TRIED * len(_DRIFTS_S) / 2 * dearer
    return _tested("drift", grid, dial, window, np.ones(len(grid.middle), bool), "", tried)


def _all_days(grid: Grid, dial: Dial) -> tuple[Floats, Floats]:
    counted = np.bincount(dial.slot[grid.at], minlength=SLOTS).astype(np.float64)
    return counted, np.bincount(dial.slot, grid.exposure, SLOTS).astype(np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """Some of the days, by number from the first, and how they are said."""

    says: str
    mask: Bools


def week_days(first: int, days: int) -> list[Days]:
    """Each day of the week, weekends and working days; `first` is the number of the first day since 1970."""
    day = (first + np.arange(days) + 3) % DAYS  # 1 January 1970 was a Thursday
    found = [Days(say(f"triplog.on_day_{number}"), day == number) for number in range(DAYS)]
    return [
        *found, Days(say("triplog.on_weekends"), day >= 5), Days(say("triplog.on_working_days"), day < 5)
    ]  # fmt: skip


def nth_days(first: int, days: int) -> list[Days]:
    """Every n-th day, with every beginning, as far as each comes often enough."""
    number = np.arange(days)
    return [
        Days(say("triplog.every_nth", n=n, day=np.datetime64(first + begin, "D")), number % n == begin)
        for n in NTH
        if days >= LEAST_TURNS * n
        for begin in range(n)
    ]


def by_day(grid: Grid, at_hours: Sequence[Tested]) -> list[Tested]:
    """Days of the week and every n-th day: whole days, and windows of them."""
    if grid.middle[-1] - grid.middle[0] < LEAST_WEEKS_S:
        return []
    dial = local_dial(grid)
    counted, lasting = laid_out(grid, dial)
    first = int(grid.local[0] // DAY_S)
    week, nth = week_days(first, len(counted)), nth_days(first, len(counted))
    plain = at_hours[0].log_bayes if at_hours else 0.0
    found = [_days_of("week", grid, dial, week, (counted, lasting), plain)]
    found += [_days_of("every_nth_day", grid, dial, nth, (counted, lasting), plain)]
    return [t for t in found if t]


def _days_of(
    name: str, grid: Grid, dial: Dial, options: Sequence[Days], laid: tuple[Floats, Floats], plain: float
) -> Tested | None:
    """The better of whole days and of one window on some of the days."""
    if not options:
        return None
    whole = _whole_days(name, grid, dial, options)
    part = _window_on(name, grid, dial, options, laid)
    if part and part.log_bayes > max(plain, whole.log_bayes):
        return part
    return whole


def _whole_days(name: str, grid: Grid, dial: Dial, options: Sequence[Days]) -> Tested:
    found = [grid.count(days.says, days.mask[dial.day]) for days in options]
    at = int(np.argmax([gains(np.array(c.inside), c.total, np.array(c.share)) for c in found]))
    inside = options[at].mask[dial.day]
    return split(name, grid, found[at], inside, None, len(options))


def _window_on(
    name: str, grid: Grid, dial: Dial, options: Sequence[Days], laid: tuple[Floats, Floats]
) -> Tested | None:
    """The window that tells most on some of the days, if those days and not the others have it."""
    chosen = np.stack([days.mask for days in options]).astype(np.float64)
    counted, lasting = chosen @ laid[0], chosen @ laid[1]
    found = gains(summed(counted), len(grid.at), summed(lasting))
    for at in np.argsort(-found.max((1, 2)))[:_LOOKED_AT]:
        width, start = np.unravel_index(int(np.argmax(found[at])), found[at].shape)
        window, days = Window(int(start), int(WIDTHS[width]), float(found[at, width, start])), options[int(at)]
        p = min(1.0, _days_differ(window, days.mask, laid) * len(options))
        if p < DAYS_DIFFER:
            test = _tested(name, grid, dial, window, days.mask[dial.day], days.says, TRIED * len(options))
            return replace(test, p=max(test.p, p))
    return None


def _days_differ(window: Window, due: Bools, laid: tuple[Floats, Floats]) -> float:
    """p that the window is as often used on the other days: days with an episode in it, Fisher's exact test."""
    slots = window.holds(np.arange(SLOTS))
    ran = (laid[1][:, slots] > 0).mean(1) > 0.5  # not by its weight: a day without traffic has run as well
    used = laid[0][:, slots].sum(1) > 0
    a, b = int((used & due & ran).sum()), int((~used & due & ran).sum())
    c, d = int((used & ~due & ran).sum()), int((~used & ~due & ran).sum())
    return fisher(a, b, c, d) if a >= LEAST_TURNS and a * d > b * c else 1.0


def several_times(grid: Grid) -> Tested:
    """The best two or three equal windows of the local day, on all days or on working days."""
    dial = local_dial(grid)
    first = int(grid.local[0] // DAY_S)
    counted, lasting = laid_out(grid, dial)
    working = week_days(first, len(counted))[-1]
    every = Days("", np.ones(len(counted), bool))
    found = [_several(grid, dial, days, counted, lasting) for days in (every, working)]
    return max(found, key=lambda t: t.log_bayes)


def _several(grid: Grid, dial: Dial, days: Days, counted: Floats, lasting: Floats) -> Tested:
    coarse = [v[days.mask].sum(0).reshape(-1, _COARSE).sum(1) for v in (counted, lasting)]
    starts, width = _starts(coarse[0], coarse[1], len(grid.at))
    inside = np.zeros(len(grid.middle), bool)
    for start in starts:
        inside |= Window(start * _COARSE, width * _COARSE, 0).holds(dial.slot)
    inside &= days.mask[dial.day]
    words = [hours_says(s * _COARSE, width * _COARSE) for s in sorted(starts)]
    detail = " ".join(filter(None, [listed(words), days.says]))
    slots = SLOTS / _COARSE
    tried = len(_PAIR_WIDTHS) * (slots / width) ** len(starts)
    return split("two_times", grid, grid.count(detail, inside), inside, None, tried)


def _starts(counted: Floats, lasting: Floats, total: int) -> tuple[list[int], int]:
    """Starts and width, in quarter hours, of the best pair, with a third where that gains more than it costs."""
    best: tuple[float, list[int], int] = (-1.0, [0, 1], 1)
    for number, width in enumerate(_PAIR_WIDTHS):
        k, x = summed(counted, _PAIR_WIDTHS)[number], summed(lasting, _PAIR_WIDTHS)[number]
        apart = _apart(len(k), int(width))
        pair = np.where(apart, gains(k[:, None] + k, total, x[:, None] + x), 0.0)
        a, b = np.unravel_index(int(np.argmax(pair)), pair.shape)
        found = (float(pair[a, b]), [int(a), int(b)], int(width))
        third = np.where(apart[a] & apart[b], gains(k[a] + k[b] + k, total, x[a] + x[b] + x), 0.0)
        if third.max() > found[0] + np.log(len(k)) + 2:
            found = (float(third.max()), [*found[1], int(np.argmax(third))], int(width))
        best = max(best, found)
    return best[1], best[2]


def _apart(slots: int, width: int) -> Bools:
    first: Ints = np.arange(slots)
    gap = np.abs(first[:, None] - first)
    least = width + max(_BETWEEN, width // 2)
    return np.asarray((gap >= least) & (slots - gap >= least))


def listed(words: Sequence[str]) -> str:
    """'one, two and three'."""
    if len(words) < 2:
        return "".join(words)
    return say("triplog.two_windows", first=", ".join(words[:-1]), second=words[-1])
