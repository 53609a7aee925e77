"""All tests over one log -> the patterns in it, or 'no pattern' with what would have been seen."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, log

import numpy as np

from diagnose.triplog.conditions import sky_tests, weather_tests
from diagnose.triplog.drift import change, trend
from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.exact import at_least, discovery, dispersion
from diagnose.triplog.grid import HOUR_S, Grid, follow_traffic, make_grid, traffic_of
from diagnose.triplog.records import Log, Tested, TripLogError
from diagnose.triplog.rhythm import night_by_clock, period, time_of_day, week
from diagnose.triplog.sources import after_movement, leaning, one_sensor
from diagnose.words import say

FALSE_DISCOVERY = 0.05
LEAST_RATIO = 1.5
LEAST_LOG_BAYES = log(3)
"""'Substantial' evidence and better, on Jeffreys' scale: three to one."""
FEWEST = 8
MOST_PATTERNS = 3
POWER = 0.8
TRAFFIC_COUNTS_AS = log(50)
"""Traffic is exposure more than explanation: any pattern beyond it that is stronger than this is named first."""
NEVER_A_SECOND = ("time_of_day", "two_times", "period", "change", "trend", "week")
"""Shapes that are found again in what any other pattern leaves; named only when they come first."""
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, eq=False)
class LogVerdict:
    """What the log says. `tests` is every test with its false-discovery rate.

    `patterns` are the tests that count, strongest first, and `leans` the sensor each shows on most, or ''. `seen`
    has per test the smallest rate ratio that would have been found in four logs of five. `clumped_p` is small when
    episodes come in clumps.
    """

    trips: int
    episodes: int
    days: float
    tests: tuple[tuple[Tested, float], ...]
    patterns: tuple[Tested, ...]
    seen: tuple[tuple[Tested, float], ...]
    traffic: str
    clumped_p: float
    gap_s: float
    leans: tuple[str, ...]

    @property
    def enough(self) -> bool:
        """Whether there were episodes enough to test at all."""
        return self.episodes >= FEWEST


def judge(log_: Log, gap_s: float = GAP_S, progress: Progress = lambda _: None) -> LogVerdict:
    """The patterns of a log. Raises TripLogError without any trip."""
    if not len(log_.trips):
        raise TripLogError(say("triplog.no_trips"))
    plain = make_grid(log_, gap_s)
    traffic, grid = follow_traffic(log_, plain)
    first = _rated(_all(log_, grid, traffic, gap_s, progress)) if len(grid.episodes) >= FEWEST else []
    found = _patterns(log_, grid, first, gap_s, progress)
    days = (log_.end - log_.begin) / 86400
    return LogVerdict(
        len(log_.trips), len(grid.episodes), days, tuple(first), tuple(found), tuple(_seen(first)),
        traffic_of(log_)[1] if grid is not plain else "", _clumped(grid), gap_s,
        tuple(leaning(log_, grid, p, gap_s) for p in found),
    )  # fmt: skip


def _all(log_: Log, grid: Grid, traffic: Tested | None, gap_s: float, progress: Progress) -> list[Tested]:
    progress(say("triplog.doing_sources"))
    found = [traffic, after_movement(log_, grid, gap_s), one_sensor(log_, gap_s)]
    if log_.weather:
        progress(say("triplog.doing_weather"))
        found += weather_tests(grid, log_.weather)
    progress(say("triplog.doing_sky"))
    found += sky_tests(grid, log_.place) if log_.place else [night_by_clock(grid)]
    progress(say("triplog.doing_clock"))
    found += [*time_of_day(grid), week(grid), change(grid), trend(grid), period(grid, gap_s)]
    return [t for t in found if t and 0 < t.count.share < 1]


def _rated(tests: Sequence[Tested]) -> list[tuple[Tested, float]]:
    return list(zip(tests, discovery([t.p for t in tests]), strict=True))


def _patterns(
    log_: Log, grid: Grid, rated: list[tuple[Tested, float]], gap_s: float, progress: Progress
) -> list[Tested]:
    """The strongest pattern, then what is still there once it is accounted for."""
    found: list[Tested] = []
    while len(found) < MOST_PATTERNS:
        taken = {t.name for t in found} | (set(NEVER_A_SECOND) if found else set())
        rest = [t for t, rate in rated if t.name not in taken and counts(t, rate)]
        if not rest:
            return found
        found.append(max(rest, key=_rank))
        if found[-1].weight is None or len(found) == MOST_PATTERNS:
            continue
        grid = grid.reweighted(found[-1].weight)
        rated = _rated(_all(log_, grid, None, gap_s, progress))
    return found


def counts(test: Tested, rate: float) -> bool:
    """Whether a test is a pattern: held against the other tests, large enough, and more likely than not chance."""
    return rate <= FALSE_DISCOVERY and test.ratio >= LEAST_RATIO and test.log_bayes >= LEAST_LOG_BAYES


def _rank(test: Tested) -> float:
    return min(test.log_bayes, TRAFFIC_COUNTS_AS) if test.name == "traffic" else test.log_bayes


def _seen(rated: Sequence[tuple[Tested, float]]) -> list[tuple[Tested, float]]:
    level = FALSE_DISCOVERY / max(len(rated), 1)
    return [(t, visible_ratio(t.count.total, t.count.share, level / t.searched)) for t, _ in rated]


def visible_ratio(n: int, share: float, level: float, power: float = POWER) -> float:
    """The smallest rate ratio that `n` episodes would have shown at this level with this power; endless if none."""
    needed = next((k for k in _rising(n, share) if 2 * at_least(k, n, share) <= level), None)
    if needed is None:
        return inf
    low, high = 1.0, 1e6
    for _ in range(50):
        middle = (low * high) ** 0.5
        inside = share * middle / (share * middle + 1 - share)
        low, high = (middle, high) if at_least(needed, n, inside) < power else (low, middle)
    return high if high < 1e5 else inf


def _rising(n: int, share: float) -> range:
    """Counts to try, from what is expected upwards; in steps for large logs."""
    return range(int(n * share), n + 1, max(1, n // 2000))


def _clumped(grid: Grid) -> float:
    """p that hours with many and hours with none come from one even rate."""
    hours = ((grid.middle - grid.middle[0]) // HOUR_S).astype(np.int64)
    per_hour = np.bincount(hours[grid.at], minlength=int(hours[-1]) + 1)
    return dispersion(per_hour.tolist())[1]
