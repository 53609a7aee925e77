"""`diagnose cases`: plays field cases with a progress bar and draws what came of it."""

from collections.abc import Iterator, Sequence
from typing import TypeVar

from rich.console import Console
from rich.progress import track

from diagnose.cases import words
from diagnose.cases.baseline import Change
from diagnose.cases.collect import Collected, Wanted, collect
from diagnose.cases.figures import case_figures, entries_to_look_at
from diagnose.cases.model import Half
from diagnose.cases.result import Result
from diagnose.cases.runs import AS_IT_IS
from diagnose.cases.temper import Tempered, best
from diagnose.model.knowledge import KnowledgeBase
from diagnose.terminal.screen import Screen

SHOWN = 25  # entries to look at
Item = TypeVar("Item")


def play_cases(kb: KnowledgeBase, wanted: Wanted) -> Collected:
    """Everything wanted, with a progress bar on standard error."""
    console = Console(stderr=True)

    def tracked(says: str, many: int, work: Iterator[Item], /) -> Iterator[Item]:
        yield from track(work, f"{says:28}", many, console=console, transient=True)

    return collect(kb, wanted, tracked)


def draw_cases(screen: Screen, collected: Collected) -> None:
    """Totals of both halves; every case and every entry to look at of the learning half."""
    for half in words.halves(collected):
        screen.heading(words.HALF_SAYS[half])
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
        screen.line("Ways of asking, same cases, same run:", "bold")
    for name, first, three, steps, minutes, right in rows if len(rows) > 1 else ():
        says = f"first {first}, three {three}, {steps} questions, {minutes} min to a remedy, right at once {right}"
        screen.hanging(f"{name}: ", says)


def _draw_learning(screen: Screen, collected: Collected, learning: list[Result]) -> None:
    screen.heading("Case by case, learning half")
    for result in learning:
        screen.hanging(f"{result.id}  ", words.case_line(result))
    screen.heading("By the sensor it is about")
    for family, cases, first, three, steps in words.families(learning):
        screen.pair(family, f"{cases} cases, first {first}, three {three}, {steps} questions")
    screen.heading("True answers that counted against the truth: the entries to look at (tenths of a decade in all)")
    for entry in entries_to_look_at(learning)[:SHOWN]:
        screen.hanging(f"{entry.decibans:5.1f}  ", words.entry_says(collected.kb, entry))
    screen.heading("Questions without an answer that fits, asked for nothing, or not encoded")
    for case, says in words.misfits(learning):
        screen.hanging(f"{case}  ", says)


def draw_changes(screen: Screen, changes: Sequence[Change]) -> None:
    """Every figure of the learning half against its recorded value."""
    if changes:
        screen.heading("Against the recorded figures (learning half)")
    for change in changes:
        fell = " FELL by more than its noise" if change.fell else ""
        moved = f"; worse {', '.join(change.worse) or 'none'}; better {', '.join(change.better) or 'none'}"
        says = f"{change.before:.2f} -> {change.after:.2f} over {change.of} cases{fell}{moved}"
        screen.hanging(f"{change.figure}: ", says)


def draw_tempered(screen: Screen, present: float, found: Sequence[Tempered]) -> None:
    """The log score of every power, the best first in words."""
    screen.heading("Power of the likelihoods, on the cases set aside for fitting it")
    for row in found:
        marks = " best" * (row is best(found)) + " in use" * (row.temper == present)
        says = f"{row.score.value:.3f} bits; stated {100 * row.stated:.0f} %, right {100 * row.right:.0f} %{marks}"
        screen.hanging(f"{row.temper:4.2f}  ", says)
    screen.line(f"Of {found[0].score.count} visits. The number stands in knowledge/shared/settings.yaml as 'temper'.")
