"""All tests over one log -> the patterns in it, or 'no pattern' with what would have been seen."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, log

import numpy as np

from diagnose.triplog.agenda import by_clock, by_day, several_times, strongest
from diagnose.triplog.conditions import after_power, sky_tests, weather_tests
from diagnose.triplog.drift import change, trend
from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.exact import at_least, discovery, dispersion
from diagnose.triplog.grid import Grid, make_grid
from diagnose.triplog.headlights import headlights
from diagnose.triplog.moving import after_closing, while_moving
from diagnose.triplog.near_vehicles import NO_VEHICLES, Near, beside_vehicles
from diagnose.triplog.readings import reading_tests
from diagnose.triplog.records import Log, Place, Tested, TripLogError
from diagnose.triplog.rhythm import night_by_clock, period
from diagnose.triplog.sources import leaning, one_sensor
from diagnose.triplog.spacing import bursts, spacing
from diagnose.triplog.story import FINER, Story, same_trips, story_of, without
from diagnose.triplog.sun_patch import sun_patch
from diagnose.triplog.traffic import follow_traffic, traffic_of
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
NEVER_A_SECOND = ("dark", "road_lights", "sun_patch", "column")
"""Found again in what any other pattern leaves; named only when they come first, as clock and calendar are."""
ONLY_BESIDE = ("bursts",)
FIRST_EXPLAINS = 0.2
SECOND_EXPLAINS = 0.1
ROAD_ADDS = log(20)
KNOWN_LOOK = log(1000)
"""What a known look adds to the sun near it, over windows that were searched for (judgement)."""
SECOND_LOG_BAYES = log(50)
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, eq=False)
class LogVerdict:
    """What the log says. `tests` is every test with its false-discovery rate.

    `patterns` are the tests that count, strongest first, `leans` the sensor each shows on most, or '', and `stories`
    what else would explain each. `seen` has per test the smallest rate ratio that would have been found in four logs
    of five, where nothing was found. `clumped_p` is small when episodes come in clumps.
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
    stories: tuple[Story, ...] = ()
    near_vehicles: Near = NO_VEHICLES

    @property
    def enough(self) -> bool:
        """Whether there were episodes enough to test at all."""
        return self.episodes >= FEWEST


def judge(log_: Log, gap_s: float = GAP_S, progress: Progress = lambda _: None) -> LogVerdict:
    """The patterns of a log. Raises TripLogError without any trip."""
    if not len(log_.trips):
        raise TripLogError(say("triplog.no_trips"))
    log_, near = beside_vehicles(log_)
    plain = make_grid(log_, gap_s, near.spans)
    traffic, grid = follow_traffic(log_, plain)
    first = _rated(_all(log_, grid, traffic, gap_s, progress)) if len(grid.episodes) >= FEWEST else []
    found = _patterns(log_, grid, first, gap_s, progress)
    rivals = [t for t, rate in first if counts(t, rate)]
    stories = (story_of(log_, grid, p, [r for r in rivals if r.name != p.name], gap_s) for p in found)
    return LogVerdict(
        len(log_.trips), len(grid.episodes), (log_.end - log_.begin) / 86400, tuple(first), tuple(found),
        () if found else tuple(_seen(first)), traffic_of(log_)[1] if grid is not plain else "", _clumped(grid), gap_s,
        tuple(leaning(log_, grid, p, gap_s) for p in found), tuple(stories), near,
    )  # fmt: skip


def _all(log_: Log, grid: Grid, traffic: Tested | None, gap_s: float, progress: Progress) -> list[Tested]:
    at_hours = by_clock(grid, log_)
    found = [*_lasting(log_, grid, traffic, gap_s, progress), *at_hours]
    progress(say("triplog.doing_clock"))
    found += [several_times(grid), *by_day(grid, at_hours), change(grid), trend(grid)]
    found.append(period(_without_hours(grid, at_hours), gap_s))
    found += [spacing(log_), bursts(log_)]
    return [t for t in found if t and 0 < t.count.share < 1]


def _without_hours(grid: Grid, at_hours: Sequence[Tested]) -> Grid:
    """The grid with the hours of the day accounted for: what comes daily beats at every part of a day."""
    best = max(at_hours, key=lambda t: t.log_bayes)
    return grid.reweighted(best.weight) if best.weight is not None and best.log_bayes > 0 else grid


def _lasting(
    log_: Log, grid: Grid, traffic: Tested | None, gap_s: float, progress: Progress, beside: bool = False
) -> list[Tested | None]:
    """The tests that may also find a second pattern `beside` a first."""
    progress(say("triplog.doing_sources"))
    found: list[Tested | None] = [traffic, after_closing(log_), while_moving(log_, gap_s), one_sensor(log_, gap_s)]
    found += [after_power(grid, log_), *reading_tests(grid, log_)]
    if log_.weather:
        progress(say("triplog.doing_weather"))
        found += weather_tests(grid, log_.weather, log_.place)
    progress(say("triplog.doing_sky"))
    return found + (_sky(log_, grid, log_.place, beside) if log_.place else [night_by_clock(grid)])


def _sky(log_: Log, grid: Grid, place: Place, beside: bool) -> list[Tested | None]:
    """Darkness, headlights and the sun; of two tests of the sun by one name the stronger."""
    found: list[Tested | None] = [*sky_tests(grid, place), headlights(grid, log_, place)]
    found += [] if beside else [sun_patch(grid, place, log_.end, log_.clock)]
    return [t for t in strongest(found) if not _only_dark(t, found)]


def _only_dark(test: Tested, found: Sequence[Tested | None]) -> bool:
    """Whether the road's hours add nothing to darkness: the plainer of the two is told."""
    dark = next((t for t in found if t and t.name == "dark"), None)
    if test.name != "road_lights" or dark is None:
        return False
    return test.log_bayes * test.wide < dark.log_bayes * dark.wide + ROAD_ADDS


def _rated(tests: Sequence[Tested]) -> list[tuple[Tested, float]]:
    return list(zip(tests, discovery([t.p for t in tests]), strict=True))


def _patterns(
    log_: Log, grid: Grid, rated: list[tuple[Tested, float]], gap_s: float, progress: Progress
) -> list[Tested]:
    """The strongest pattern, then what is still there once it is accounted for, then what is finer than the grid."""
    found: list[Tested] = []
    first = [t for t, rate in rated if counts(t, rate)]
    while len(found) < MOST_PATTERNS:
        rest = [t for t, rate in rated if counts(t, rate) and _may_follow(t, found)]
        if not rest or (not found and _outdone(max(rest, key=_rank), first)):
            break
        found.append(max(rest, key=_rank))
        if found[-1].name in FINER:  # what says when its trips come is told beside it, so they stay in
            rated = [(t, rate) for t, rate in rated if t.name not in FINER]
            continue
        log_, grid = without(log_, grid, found[-1], gap_s)
        rated = _rated([t for t in _lasting(log_, grid, None, gap_s, progress, True) if t and 0 < t.count.share < 1])
        if len(grid.at) < FEWEST:
            break
    finer = [t for t in first if t.name in FINER and t.name not in {f.name for f in found}]
    return found + [t for t in finer if not any(same_trips(f, t) for f in found)]


def _outdone(test: Tested, others: Sequence[Tested]) -> bool:
    """Whether a finding makes up next to nothing of a log whose trips have a story of their own inside the minute."""
    return test.explains < SECOND_EXPLAINS and any(t.name in FINER and t.log_bayes > test.log_bayes for t in others)


def _may_follow(test: Tested, found: Sequence[Tested]) -> bool:
    """A second pattern must be strong, and make up a part of the log that matters."""
    if not found:
        return test.name not in ONLY_BESIDE
    if test.name in {t.name for t in found} or test.name in NEVER_A_SECOND:
        return False
    return test.log_bayes >= SECOND_LOG_BAYES and test.explains >= SECOND_EXPLAINS


def counts(test: Tested, rate: float) -> bool:
    """Whether a test is a pattern: held against the other tests, large enough, and more likely than not chance."""
    return rate <= FALSE_DISCOVERY and test.ratio >= LEAST_RATIO and test.log_bayes >= LEAST_LOG_BAYES


def _rank(test: Tested) -> tuple[bool, float]:
    """What makes up a good part of the trips comes first, then what is strongest."""
    strength = min(test.log_bayes, TRAFFIC_COUNTS_AS) if test.name == "traffic" else test.log_bayes
    strength += KNOWN_LOOK if test.name in ("low_sun", "mirrored_sun") else 0.0
    return test.explains >= FIRST_EXPLAINS, strength


def _seen(rated: Sequence[tuple[Tested, float]]) -> list[tuple[Tested, float]]:
    level = FALSE_DISCOVERY / max(len(rated), 1)
    return [(t, visible_ratio(t.count.total, t.count.share, level / t.searched)) for t, _ in rated]


def visible_ratio(n: int, share: float, level: float, power: float = POWER) -> float:
    """The smallest rate ratio that `n` episodes would have shown at this level with this power; endless if none."""
    if 2 * at_least(n, n, share) > level:
        return inf
    needed = _fewest(n, share, level)
    low, high = 1.0, 1e6
    for _ in range(25):
        middle = (low * high) ** 0.5
        inside = share * middle / (share * middle + 1 - share)
        low, high = (middle, high) if at_least(needed, n, inside) < power else (low, middle)
    return high if high < 1e5 else inf


def _fewest(n: int, share: float, level: float) -> int:
    """The fewest inside of `n` that reach the level."""
    under, enough = int(n * share), n
    while enough - under > 1:
        middle = (under + enough) // 2
        under, enough = (under, middle) if 2 * at_least(middle, n, share) <= level else (middle, enough)
    return enough


def _clumped(grid: Grid) -> float:
    """p that hours with many and hours with none come from one even rate."""
    per_hour = np.bincount(grid.hours[grid.at], minlength=int(grid.hours[-1]) + 1)
    return dispersion(per_hour.tolist())[1]
