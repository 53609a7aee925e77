"""`diagnose measure`: runs simulated visits with a progress bar and draws the figures."""

from collections.abc import Iterator
from typing import TypeVar

from rich.console import Console
from rich.progress import track

from diagnose.measure.alarm import Alarms, alarms
from diagnose.measure.collect import Measured, WantedFigures, collect
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Figures, confusions, figures
from diagnose.measure.targets import aims, lost_first, percent
from diagnose.measure.words import condition_says, spoilt_says, way_says
from diagnose.model.knowledge import KnowledgeBase
from diagnose.terminal.screen import Screen
from diagnose.words import say

SHOWN = 10  # rows of the lists of checks, causes and confusions
Item = TypeVar("Item")


def measure(kb: KnowledgeBase, wanted: WantedFigures) -> Measured:
    """Everything wanted, with a progress bar on standard error."""
    console = Console(stderr=True)

    def tracked(says: str, many: int, work: Iterator[Item], /) -> Iterator[Item]:
        yield from track(work, f"{says:36}", many, console=console, transient=True)

    return collect(kb, wanted, tracked)


def draw_measured(screen: Screen, measured: Measured) -> None:
    """One block per policy, then what the tool confuses, what helps it, what hurts it, and what was aimed at."""
    base = figures(measured.policies["fixed_order"]).minutes.value if "fixed_order" in measured.policies else None
    for name, outcomes in measured.policies.items():
        screen.heading(way_says(name))
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
    screen.line(say("measure.terminal_foot"))


def _draw_figures(screen: Screen, found: Figures, base: float | None) -> None:
    minutes = f"{found.minutes.value:.0f} ± {found.minutes.margin:.0f}"
    if base:
        minutes = say("measure.of_fixed_order", minutes=minutes, share=f"{found.minutes.value / base:.0%}")
    listed = f"{found.listed_first.value:.1%} / {found.listed_three.value:.1%}"
    pairs = f"{found.first_of_pairs.value:.1%} / {found.both_in_three.value:.1%}"
    rows = {
        say("measure.head_visits"): f"{found.cases}",
        say("measure.head_true_cause_first"): f"{found.first.value:.1%} ± {found.first.margin:.1%}",
        say("measure.within_three"): f"{found.first_three.value:.1%} ± {found.first_three.margin:.1%}",
        say("measure.listed_singles"): listed,
        say("measure.listed_pairs", count=found.first_of_pairs.count): pairs,
        say("measure.head_checks"): say(
            "measure.checks_line", value=f"{found.checks.value:.1f}", least_checks=f"{found.least_checks:.1f}"
        ),
        say("measure.minutes_of_checks"): f"{found.check_minutes.value:.0f}",
        say("measure.minutes_to_mended"): minutes,
        say("measure.head_calibration_error"): say(
            "measure.error_line",
            error=f"{found.calibration.error:.3f}",
            by_chance=f"{found.calibration.by_chance:.3f}",
        ),
    }
    for label, text in rows.items():
        screen.pair(label, text)


def _draw_reliability(screen: Screen, found: Figures) -> None:
    screen.heading(say("measure.reliability_heading"))
    for part in found.calibration.bins:
        shown = {"said": f"{part.said:4.0%}", "right": f"{part.right:4.0%} ± {part.margin:.0%}", "count": part.count}
        screen.line(say("measure.stated_line", **shown))


def _draw_corners(screen: Screen, measured: Measured) -> None:
    if not measured.excesses:
        return
    many = next(iter(measured.excesses.values())).corners
    screen.heading(say("measure.optimum_heading", many=many))
    for name, over in measured.excesses.items():
        screen.pair(
            way_says(name),
            say("measure.optimum_line", mean=f"{over.mean:.1%}", p95=f"{over.p95:.1%}", worst=f"{over.worst:.1%}"),
        )


def _draw_confusions(screen: Screen, measured: Measured) -> None:
    screen.heading(say("measure.confused_heading"))
    causes = measured.kb.causes
    for (true, said), times in confusions(measured.tool, SHOWN):
        screen.hanging(f"{times:4d}  ", f"{causes[true].says} -> {causes[said].says}")


def _draw_worth(screen: Screen, measured: Measured) -> None:
    screen.heading(say("measure.worth_heading"))
    for worth in measured.checks[:SHOWN]:
        shown = {"saves": f"{worth.saves:.0f}", "bits": f"{worth.bits:.2f}", "minutes": f"{worth.minutes:.1f}"}
        says = say("measure.worth", **shown)
        if worth.lost:
            says += "; " + say("measure.worth_without", minutes=f"{worth.lost.value:+.0f} ± {worth.lost.margin:.0f}")
        screen.hanging(f"{worth.share:5.0%}  ", f"{measured.kb.checks[worth.check].ask} - {says}")
    screen.heading(say("measure.needs_heading"))
    for need in measured.causes[:SHOWN]:
        says = say(
            "measure.need_lost",
            value=f"{need.wasted.value:.0f}",
            margin=f"{need.wasted.margin:.0f}",
            count=need.wasted.count,
        )
        named = say("measure.named_first_in", named=f"{need.named:.0%}")
        screen.hanging(f"{need.value:5.2f}  ", f"{measured.kb.causes[need.cause].says} - {says}, {named}")


def _draw_conditions(screen: Screen, measured: Measured) -> None:
    screen.heading(say("measure.conditions_heading"))
    for name, outcomes in measured.conditions.items():
        found, lost = figures(outcomes), lost_first(measured.conditions[AS_WRITTEN], outcomes)
        shown = {
            "first": f"{found.first.value:.1%}",
            "three": f"{found.first_three.value:.1%}",
            "minutes": f"{found.minutes.value:.0f}",
            "error": f"{found.calibration.error:.3f}",
            "lost": f"{100 * lost.value:+.1f} ± {100 * lost.margin:.1f}",
        }
        kind = "as_written" if name == AS_WRITTEN else "disturbed"
        screen.pair(condition_says(name), say(f"measure.under_{kind}", **shown))


def _draw_alarms(screen: Screen, found: Alarms) -> None:
    screen.heading(say("measure.flagged_heading"))
    screen.pair(say("measure.every_answer_right"), percent(found.right))
    screen.pair(say("measure.wrong_by_nature"), percent(found.wrong))
    for way, share in found.spoilt.items():
        screen.pair(spoilt_says(way), percent(share))


def _draw_aims(screen: Screen, measured: Measured) -> None:
    screen.heading(say("measure.targets"))
    for aim in aims(measured):
        reached = say("measure.reached") if aim.reached else say("measure.not_reached")
        says = say("measure.aim", reached=reached, says=aim.says, measured=aim.measured, wanted=aim.wanted)
        screen.hanging(f"{aim.target:4} ", says)
