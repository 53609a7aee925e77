"""`diagnose cases`: plays field cases with a progress bar and draws what came of it."""

from collections.abc import Iterator, Sequence
from typing import TypeVar

from rich.console import Console
from rich.progress import track

from diagnose.cases import words
from diagnose.cases.baseline import FigureChange
from diagnose.cases.collect import Collected, WantedRuns, collect
from diagnose.cases.figures import case_figures, entries_to_look_at
from diagnose.cases.model import Half
from diagnose.cases.result import CaseResult
from diagnose.cases.runs import AS_IT_IS
from diagnose.cases.temper import Tempered, best
from diagnose.model.knowledge import KnowledgeBase
from diagnose.terminal.screen import Screen
from diagnose.words import say

SHOWN = 25  # entries to look at
Item = TypeVar("Item")


def play_cases(kb: KnowledgeBase, wanted: WantedRuns) -> Collected:
    """Everything wanted, with a progress bar on standard error."""
    console = Console(stderr=True)

    def tracked(name: str, many: int, work: Iterator[Item], /) -> Iterator[Item]:
        yield from track(work, f"{words.run_says(name):28}", many, console=console, transient=True)

    return collect(kb, wanted, tracked)


def draw_cases(screen: Screen, collected: Collected) -> None:
    """Totals of both halves; every case and every entry to look at of the learning half."""
    for half in words.halves(collected):
        screen.heading(words.half_says(half))
        rows = [*words.rows(case_figures(collected.of(AS_IT_IS, half))), *words.spoilt_rows(collected, half)]
        for label, text in rows:
            screen.line(f"{label}: {text}")
        _draw_compared(screen, collected, half)
    if learning := collected.open:
        _draw_learning(screen, collected, learning)


def _draw_compared(screen: Screen, collected: Collected, half: Half) -> None:
    rows = list(words.compared_rows(collected, half))
    if len(rows) > 1:
        screen.line()
        screen.line(say("cases.ways_title"), "bold")
    for name, first, three, steps, minutes, right in rows if len(rows) > 1 else ():
        says = say("cases.way_line", first=first, three=three, steps=steps, minutes=minutes, right=right)
        screen.hanging(f"{name}: ", says)


def _draw_learning(screen: Screen, collected: Collected, learning: list[CaseResult]) -> None:
    screen.heading(say("cases.case_by_case_learning_half"))
    for result in learning:
        screen.hanging(f"{result.id}  ", words.case_line(result))
    screen.heading(say("cases.by_sensor"))
    for family, cases, first, three, steps in words.families(learning):
        screen.pair(family, say("cases.family_line", cases=cases, first=first, three=three, steps=steps))
    screen.heading(say("cases.entries_say"))
    for entry in entries_to_look_at(learning)[:SHOWN]:
        screen.hanging(f"{entry.decibans:5.1f}  ", words.entry_says(collected.kb, entry))
    screen.heading(say("cases.misfits_say"))
    for case, says in words.misfits(learning):
        screen.hanging(f"{case}  ", says)


def draw_changes(screen: Screen, changes: Sequence[FigureChange]) -> None:
    """Every figure of the learning half against its recorded value."""
    if changes:
        screen.heading(say("cases.recorded_title"))
    for change in changes:
        says = say(
            "cases.change_fell" if change.fell else "cases.change",
            before=f"{change.before:.2f}",
            after=f"{change.after:.2f}",
            count=change.of,
            worse=", ".join(change.worse) or say("report.none"),
            better=", ".join(change.better) or say("report.none"),
        )
        screen.hanging(f"{words.figure_says(change.figure)}: ", says)


def draw_tempered(screen: Screen, present: float, found: Sequence[Tempered]) -> None:
    """The log score of every power, the best first in words."""
    screen.heading(say("cases.power_title"))
    for row in found:
        marks = [say("cases.best")] * (row is best(found)) + [say("cases.in_use")] * (row.temper == present)
        shown = {
            "bits": f"{row.score.value:.3f}",
            "stated": f"{100 * row.stated:.0f}",
            "right": f"{100 * row.right:.0f}",
        }
        screen.hanging(f"{row.temper:4.2f}  ", " ".join((say("cases.tempered", **shown), *marks)))
    screen.line(say("cases.power_says", count=found[0].score.count))
