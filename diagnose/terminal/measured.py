"""`diagnose measure`: runs simulated visits with a progress bar and draws the figures."""

from collections.abc import Iterator
from typing import TypeVar

from rich.console import Console
from rich.progress import track

from diagnose.measure.alarm import Alarms, alarms
from diagnose.measure.collect import Measured, Wanted, collect
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Figures, confusions, figures
from diagnose.measure.targets import aims, lost_first, percent
from diagnose.model.knowledge import KnowledgeBase
from diagnose.terminal.screen import Screen

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
    base = figures(measured.policies["fixed order"]).minutes.value if "fixed order" in measured.policies else None
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
    screen.line("Drawn from the knowledge base's own model: says how good the tool is if its knowledge is right.")


def _draw_figures(screen: Screen, found: Figures, base: float | None) -> None:
    share = f" ({found.minutes.value / base:.0%} of fixed order)" if base else ""
    listed = f"{found.listed_first.value:.1%} / {found.listed_three.value:.1%}"
    pairs = f"{found.first_of_pairs.value:.1%} / {found.both_in_three.value:.1%}"
    rows = {
        "visits": f"{found.cases}",
        "true cause first": f"{found.first.value:.1%} ± {found.first.margin:.1%}",
        "within the first three": f"{found.first_three.value:.1%} ± {found.first_three.margin:.1%}",
        "listed single faults first / first three": listed,
        f"two faults ({found.first_of_pairs.count}): one of them first / both among three": pairs,
        "checks": f"{found.checks.value:.1f} (entropy bound {found.least_checks:.1f})",
        "minutes of checks": f"{found.check_minutes.value:.0f}",
        "minutes to mended": f"{found.minutes.value:.0f} ± {found.minutes.margin:.0f}{share}",
        "calibration error": f"{found.calibration.error:.3f} ({found.calibration.by_chance:.3f} were it perfect)",
    }
    for label, text in rows.items():
        screen.pair(label, text)


def _draw_reliability(screen: Screen, found: Figures) -> None:
    screen.heading("Does what the tool states come true? (its leading cause, ten groups of visits)")
    for part in found.calibration.bins:
        screen.line(f"stated {part.said:4.0%}  true {part.right:4.0%} ± {part.margin:.0%}  of {part.count} visits")


def _draw_corners(screen: Screen, measured: Measured) -> None:
    if not measured.excesses:
        return
    many = next(iter(measured.excesses.values())).corners
    screen.heading(f"Over the exact optimum, on {many} small problems cut out of this knowledge")
    for name, over in measured.excesses.items():
        screen.pair(name, f"mean {over.mean:.1%}, 95th percentile {over.p95:.1%}, worst {over.worst:.1%}")


def _draw_confusions(screen: Screen, measured: Measured) -> None:
    screen.heading("Most confused (true cause, cause put first instead)")
    causes = measured.kb.causes
    for (true, said), times in confusions(measured.tool, SHOWN):
        screen.hanging(f"{times:4d}  ", f"{causes[true].says} -> {causes[said].says}")


def _draw_worth(screen: Screen, measured: Measured) -> None:
    screen.heading("What the most asked checks are worth (promised when chosen)")
    for worth in measured.checks[:SHOWN]:
        lost = f"; without it {worth.lost.value:+.0f} ± {worth.lost.margin:.0f} min" if worth.lost else ""
        says = f"saves {worth.saves:.0f} min, tells {worth.bits:.2f} bit, takes {worth.minutes:.1f} min{lost}"
        screen.hanging(f"{worth.share:5.0%}  ", f"{measured.kb.checks[worth.check].ask} - {says}")
    screen.heading("Causes a new check would help most (minutes per visit it could save at most)")
    for need in measured.causes[:SHOWN]:
        says = f"{need.wasted.value:.0f} ± {need.wasted.margin:.0f} min lost in each of {need.wasted.count} visits"
        named = f"named first in {need.named:.0%}"
        screen.hanging(f"{need.value:5.2f}  ", f"{measured.kb.causes[need.cause].says} - {says}, {named}")


def _draw_conditions(screen: Screen, measured: Measured) -> None:
    screen.heading("Wrong knowledge and wrong answers (drawn from the knowledge as written)")
    for name, outcomes in measured.conditions.items():
        found, lost = figures(outcomes), lost_first(measured.conditions[AS_WRITTEN], outcomes)
        fall = "" if name == AS_WRITTEN else f", {100 * lost.value:+.1f} ± {100 * lost.margin:.1f} points lost"
        says = f"first {found.first.value:.1%}, three {found.first_three.value:.1%}{fall}"
        screen.pair(name, f"{says}, {found.minutes.value:.0f} min, error {found.calibration.error:.3f}")


def _draw_alarms(screen: Screen, found: Alarms) -> None:
    screen.heading("Visits flagged as not fitting together")
    screen.pair("every answer right", percent(found.right))
    screen.pair("an answer wrong by nature", percent(found.wrong))
    for way, share in found.spoilt.items():
        screen.pair(f"two answers spoilt, {way}", percent(share))


def _draw_aims(screen: Screen, measured: Measured) -> None:
    screen.heading("Targets")
    for aim in aims(measured):
        reached = "reached" if aim.reached else "NOT REACHED"
        screen.hanging(f"{aim.target:4} ", f"{reached}: {aim.says}: {aim.measured}; wanted {aim.wanted}")
