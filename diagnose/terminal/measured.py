"""`diagnose simulate`: runs simulated visits with a progress bar and draws the figures."""

from collections.abc import Iterator
from typing import TypeVar

from rich.console import Console
from rich.progress import track

from diagnose.measure.alarm import Alarms, alarms
from diagnose.measure.collect import Measured, Wanted, collect
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Figures, confusions, figures
from diagnose.measure.policies import FIXED
from diagnose.measure.targets import aims, lost_first
from diagnose.measure.targets import percent as measured_percent
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.figures import percent
from diagnose.terminal.screen import Screen
from diagnose.words import say

SHOWN = 10  # rows of the lists of checks, causes and confusions
Item = TypeVar("Item")


def measure(kb: KnowledgeBase, wanted: Wanted) -> Measured:
    """Everything wanted, with a progress bar on standard error."""
    console = Console(stderr=True)

    def tracked(says: str, many: int, work: Iterator[Item], /) -> Iterator[Item]:
        yield from track(work, f"{says:36}", many, console=console, transient=True)

    return collect(kb, wanted, tracked)


def draw_measured(screen: Screen, measured: Measured) -> None:
    """One block per policy, then what the tool confuses, what helps it, what hurts it, and what was aimed at."""
    base = figures(measured.policies[FIXED]).minutes.value if FIXED in measured.policies else None
    for name, outcomes in measured.policies.items():
        screen.heading(name)
        _draw_figures(screen, figures(outcomes), base)
    _draw_reliability(screen, figures(measured.tool))
    _draw_corners(screen, measured)
    _draw_confusions(screen, measured)
    _draw_worth(screen, measured)
    if measured.conditions:
        _draw_conditions(screen, measured)
    if measured.fits:
        _draw_alarms(screen, alarms(measured.fits, measured.kb.settings.misfit_at))
    _draw_aims(screen, measured)
    screen.line()
    screen.line(say("terminal.own_model"))


def _draw_figures(screen: Screen, found: Figures, base: float | None) -> None:
    for key, text in _rows(found, base).items():
        screen.pair(say(f"terminal.measured_{key}"), text)


def _rows(found: Figures, base: float | None) -> dict[str, str]:
    """What is measured -> its value, in words."""
    minutes = f"{found.minutes.value:.0f} ± {found.minutes.margin:.0f}"
    if base:
        minutes = say("terminal.measured_share", minutes=minutes, share=percent(found.minutes.value / base))
    checks, bound = f"{found.checks.value:.1f}", f"{found.least_checks:.1f}"
    pairs = f"{tenths(found.first_of_pairs.value)} / {tenths(found.both_in_three.value)}"
    error, chance = f"{found.calibration.error:.3f}", f"{found.calibration.by_chance:.3f}"
    return {
        "visits": f"{found.cases}",
        "first": f"{tenths(found.first.value)} ± {tenths(found.first.margin)}",
        "three": f"{tenths(found.first_three.value)} ± {tenths(found.first_three.margin)}",
        "listed": f"{tenths(found.listed_first.value)} / {tenths(found.listed_three.value)}",
        "pairs": say("terminal.measured_of", shares=pairs, visits=found.first_of_pairs.count),
        "checks": say("terminal.measured_bound", checks=checks, bound=bound),
        "check_minutes": f"{found.check_minutes.value:.0f}",
        "minutes": minutes,
        "error": say("terminal.measured_chance", error=error, chance=chance),
    }


def tenths(share: float) -> str:
    """'87.5 %'."""
    return f"{100 * share:.1f} %"


def _draw_reliability(screen: Screen, found: Figures) -> None:
    screen.heading(say("terminal.comes_true"))
    for part in found.calibration.bins:
        stated, true, margin = percent(part.said), percent(part.right), percent(part.margin)
        screen.line(say("terminal.comes_true_row", stated=stated, true=true, margin=margin, visits=part.count))


def _draw_corners(screen: Screen, measured: Measured) -> None:
    if not measured.excesses:
        return
    many = next(iter(measured.excesses.values())).corners
    screen.heading(say("terminal.over_optimum", n=many))
    for name, over in measured.excesses.items():
        mean, p95, worst = tenths(over.mean), tenths(over.p95), tenths(over.worst)
        screen.pair(name, say("terminal.over_optimum_row", mean=mean, p95=p95, worst=worst))


def _draw_confusions(screen: Screen, measured: Measured) -> None:
    screen.heading(say("terminal.confused"))
    causes = measured.kb.causes
    for (true, said), times in confusions(measured.tool, SHOWN):
        screen.hanging(f"{times:4d}  ", f"{causes[true].says} -> {causes[said].says}")


def _draw_worth(screen: Screen, measured: Measured) -> None:
    screen.heading(say("terminal.worth"))
    for worth in measured.checks[:SHOWN]:
        says = say(
            "terminal.worth_row",
            check=measured.kb.checks[worth.check].ask,
            saves=f"{worth.saves:.0f}",
            takes=f"{worth.minutes:.1f}",
        )
        if worth.lost:
            lost, margin = f"{worth.lost.value:+.0f}", f"{worth.lost.margin:.0f}"
            says = say("terminal.worth_lost", says=says, lost=lost, margin=margin)
        screen.hanging(f"{percent(worth.share):>5}  ", says)
    screen.heading(say("terminal.needs"))
    for need in measured.causes[:SHOWN]:
        says = say(
            "terminal.needs_row",
            cause=measured.kb.causes[need.cause].says,
            lost=f"{need.wasted.value:.0f} ± {need.wasted.margin:.0f}",
            visits=need.wasted.count,
            named=percent(need.named),
        )
        screen.hanging(f"{need.value:5.2f}  ", says)


def _draw_conditions(screen: Screen, measured: Measured) -> None:
    screen.heading(say("terminal.wrong_knowledge"))
    for name, outcomes in measured.conditions.items():
        found, lost = figures(outcomes), lost_first(measured.conditions[AS_WRITTEN], outcomes)
        says = say(
            "terminal.wrong_knowledge_row",
            first=tenths(found.first.value),
            three=tenths(found.first_three.value),
            minutes=f"{found.minutes.value:.0f}",
            error=f"{found.calibration.error:.3f}",
        )
        if name != AS_WRITTEN:
            points = f"{100 * lost.value:+.1f} ± {100 * lost.margin:.1f}"
            says = say("terminal.points_lost", says=says, points=points)
        screen.pair(name, says)


def _draw_alarms(screen: Screen, found: Alarms) -> None:
    screen.heading(say("terminal.flagged"))
    screen.pair(say("terminal.flagged_right"), measured_percent(found.right))
    screen.pair(say("terminal.flagged_wrong"), measured_percent(found.wrong))
    for way, share in found.spoilt.items():
        screen.pair(say("terminal.flagged_spoilt", way=way), measured_percent(share))


def _draw_aims(screen: Screen, measured: Measured) -> None:
    screen.heading(say("terminal.targets"))
    for aim in aims(measured):
        key = "terminal.target_reached" if aim.reached else "terminal.target_missed"
        says = say(key, says=aim.says, measured=aim.measured, wanted=aim.wanted)
        screen.hanging(f"{aim.target:4} ", says)
