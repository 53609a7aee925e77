"""What a neighbour's log tells, in sentences with their figures."""

from collections.abc import Sequence

from diagnose.triplog.judge import LogVerdict
from diagnose.triplog.meaning import story_says
from diagnose.triplog.neighbour import TOGETHER_AT, Beside, of_pattern
from diagnose.triplog.records import Log, Tested
from diagnose.words import say

LEAST_RATIO = 1.5
_MOSTLY = 0.5


def heading(found: Beside) -> str:
    """The neighbour's name, and where it is."""
    where = say("triplog.log_is_lane" if found.of.lane else "triplog.log_is_site")
    return say("triplog.beside", file=found.of.name, where=where)


def sentences(found: Beside) -> list[str]:
    """All that the neighbour tells of this sensor's trips."""
    name, n = found.of.name, len(found.trips)
    said = [say("triplog.beside_watched", n=n, trips=found.all_trips, hours=f"{found.hours:.0f}", file=name)]
    if found.ahead_s:
        way = "ahead" if found.ahead_s > 0 else "behind"
        said.append(say(f"triplog.beside_clock_{way}", file=name, seconds=f"{abs(found.ahead_s):.0f}"))
    if not n:
        return said
    if found.of.lane and found.vehicles.of:
        said.append(_vehicles_says(found))
    said.append(_test_says(found, found.at_once, "at_once"))
    said.append(_test_says(found, found.lasting, "lasting"))
    said.append(_alone_says(found))
    if found.outages:
        both = found.outages_of_both
        none = say("triplog.beside_no_outages", file=name)
        said.append(say("triplog.beside_outages", outages=found.outages, n=both, file=name) if both else none)
    return said


def _vehicles_says(found: Beside) -> str:
    v = found.vehicles
    if not v.saw:
        return say("triplog.beside_no_vehicles", file=found.of.name, of=v.of)
    figures = {"of": v.of, "saw": v.saw, "first": f"{v.first:.0f}", "last": f"{v.last:.0f}"}
    return say("triplog.beside_vehicles", file=found.of.name, **figures)


def _test_says(found: Beside, test: Tested | None, which: str) -> str:
    if test is None:
        return say("triplog.beside_nothing", file=found.of.name)
    count = test.count
    figures = {
        "inside": count.inside, "total": count.total, "expected": f"{count.share * count.total:.1f}",
        "seconds": f"{found.window_s:g}", "file": found.of.name, "ratio": f"{test.ratio:.3g}",
        "low": f"{test.low:.2g}", "high": f"{test.high:.3g}",
    }  # fmt: skip
    more = test.p < TOGETHER_AT and test.ratio >= LEAST_RATIO
    return say(f"triplog.beside_{which}" if more else f"triplog.beside_{which}_chance", **figures)


def _alone_says(found: Beside) -> str:
    n, alone = len(found.trips), int(found.alone.sum())
    key = "triplog.beside_alone_lane" if found.no_vehicle else "triplog.beside_alone"
    return say(key, n=alone, total=n, file=found.of.name)


def of_pattern_says(log: Log, test: Tested, found: Beside) -> str:
    """How many trips of a pattern the neighbour had too; '' where it watched during none of them."""
    n, both = of_pattern(log, test, found)
    if not n:
        return ""
    key = "triplog.pattern_of_both" if both >= _MOSTLY * n else "triplog.pattern_alone"
    return say(key, n=n, both=both, seconds=f"{found.window_s:g}", file=found.of.name)


def lines_of(log: Log, verdict: LogVerdict, found: Sequence[Beside]) -> list[list[str]]:
    """What is said below each pattern: its own story, and what the neighbours had of it."""
    return [
        [*story_says(verdict, test), *filter(None, (of_pattern_says(log, test, one) for one in found))]
        for test in verdict.patterns
    ]
