"""The plots of simulated visits: reliability, minutes per way of asking, accuracy as things get worse."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from diagnose.measure.calibration import Bin
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Mean, figures
from diagnose.measure.simulate import SimulatedVisit
from diagnose.measure.words import way_says
from diagnose.report.svg import Plot, ticks
from diagnose.words import say

SHARES = [(k / 5, f"{20 * k} %") for k in range(6)]
BAR = 0.32  # half the width of a bar
Marked = tuple[float, Mean]  # place on the axis, and what was found there


def reliability(bins: Sequence[Bin]) -> str:
    """What came true against what was stated; the bar at each dot is where 95 % fall if what is stated is true."""
    plot = Plot(say("measure.reliability"), (0, 1), (0, 1), say("measure.reliability_legend"), 380)
    plot.line([(0, 0), (1, 1)], "expected")
    for part in bins:
        low, high = max(part.said - part.margin, 0.0), min(part.said + part.margin, 1.0)
        plot.line([(part.said, low), (part.said, high)], "interval")
    plot.line([(b.said, b.right) for b in bins], "path")
    plot.dots([(b.said, b.right) for b in bins], "first")
    return plot.drawn(SHARES, SHARES, say("measure.stated_probability"), say("measure.share_that_came_true"))


def minutes(policies: Mapping[str, Sequence[SimulatedVisit]]) -> str:
    """A bar per way of asking: checks below, repairs above, with the 95 % interval of the sum."""
    found = [(name, figures(outcomes)) for name, outcomes in policies.items()]
    top = max(f.minutes.value + f.minutes.margin for _, f in found) * 1.08
    plot = Plot(say("measure.plot_minutes"), (0, len(found)), (0, top), say("measure.minutes_legend"), 300)
    places = [(i + 0.5, f) for i, (_, f) in enumerate(found)]
    plot.boxes([(x - BAR, 0, x + BAR, f.check_minutes.value) for x, f in places], "bar")
    plot.boxes([(x - BAR, f.check_minutes.value, x + BAR, f.minutes.value) for x, f in places], "repair")
    for x, f in places:
        plot.line([(x, f.minutes.value - f.minutes.margin), (x, f.minutes.value + f.minutes.margin)], "interval")
        plot.text(x, f.minutes.value + f.minutes.margin, f"{f.minutes.value:.0f}")
    across = [(x, way_says(name)) for (x, _), (name, _) in zip(places, found, strict=True)]
    return plot.drawn(
        across,
        [(v, f"{v:g}") for v in ticks(0, top, 6)],
        say("measure.way_of_asking"),
        say("measure.minutes_to_mended"),
    )


def falling(
    conditions: Mapping[str, Sequence[SimulatedVisit]], steps: Mapping[str, float], says: str, start: float
) -> str:
    """Share of visits with every true cause first, and among the first three, along one kind of trouble."""
    along = {AS_WRITTEN: start, **steps}
    found = [(at, figures(conditions[name])) for name, at in along.items()]
    last = max(along.values())
    plot = Plot(
        say("measure.accuracy_against", says=says), (0, last * 1.05), (0, 1), say("measure.accuracy_legend"), 280
    )
    _curve(plot, [(at, f.first_three) for at, f in found], "three")
    _curve(plot, [(at, f.first) for at, f in found], "first")
    return plot.drawn([(at, f"{at:g}") for at in along.values()], SHARES, says, say("measure.share_of_visits"))


def _curve(plot: Plot, points: Sequence[Marked], style: str) -> None:
    for (x0, a), (x1, b) in pairwise(points):
        plot.line([(x0, a.value), (x1, b.value)], f"{style} joined")
    for x, found in points:
        low, high = max(found.value - found.margin, 0.0), min(found.value + found.margin, 1.0)
        plot.line([(x, low), (x, high)], "interval")
    plot.dots([(x, found.value) for x, found in points], style)
