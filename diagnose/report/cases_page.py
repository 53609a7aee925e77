"""Played field cases as one self-contained page: totals of both halves, plots, and the learning half in full."""

from collections.abc import Iterator

from diagnose.cases import words
from diagnose.cases.collect import Collected
from diagnose.cases.figures import case_figures, entries_to_look_at
from diagnose.cases.model import Half
from diagnose.cases.result import CaseResult
from diagnose.cases.runs import AS_IT_IS
from diagnose.present.clean import clean
from diagnose.report import measure_plots as plots
from diagnose.report.figures_page import FiguresSection, figures_page
from diagnose.report.svg import Plot, ticks
from diagnose.words import say

MOST_ROWS = 60
BINS = 20


def page(collected: Collected) -> bytes:
    """UTF-8 HTML; it asks for nothing from outside and runs no script."""
    subtitle = say(
        "cases.page_says", cases=len(collected.tool), seed=collected.wanted.seed, digest=collected.kb.digest[:12]
    )
    return figures_page(say("cases.field_cases"), subtitle, _sections(collected), say("cases.page_foot"))


def _sections(collected: Collected) -> Iterator[FiguresSection]:
    for half in words.halves(collected):
        yield from _half(collected, half)
    if learning := collected.open:
        yield from _learning(collected, learning)


def _half(collected: Collected, half: Half) -> Iterator[FiguresSection]:
    results = collected.of(AS_IT_IS, half)
    found = case_figures(results)
    rows = [*words.rows(found), *words.spoilt_rows(collected, half)]
    yield FiguresSection(words.half_says(half), "", heads=heads("what", "measured"), rows=rows)
    says = say("cases.reliability_says")
    yield FiguresSection(say(f"cases.reliability_{half}"), says, plots.reliability(found.calibration.bins))
    yield FiguresSection(say(f"cases.questions_{half}"), "", _questions(results))
    compared = list(words.compared_rows(collected, half))
    if len(compared) > 1:
        columns = heads("way_of_asking", "first", "first_three", "questions", "minutes_to_a_remedy", "right_at_once")
        yield FiguresSection(say(f"cases.ways_{half}"), say("cases.ways_say"), heads=columns, rows=compared)


def _questions(results: list[CaseResult]) -> str:
    """How many visits needed how many questions."""
    asked = [r.concluded.questions for r in results]
    counts = [asked.count(n) for n in range(max(asked) + 1)]
    plot = Plot(
        say("cases.questions_until_concluded"),
        (0, len(counts)),
        (0, max(counts) * 1.1),
        say("cases.visits_per_count"),
        240,
    )
    plot.boxes([(n, 0, n + 0.9, c) for n, c in enumerate(counts) if c], "bar")
    across = [(v + 0.45, f"{v:g}") for v in ticks(0, len(counts), BINS)]
    return plot.drawn(
        across,
        [(v, f"{v:g}") for v in ticks(0, max(counts), 6)],
        say("cases.head_questions"),
        say("cases.head_visits"),
    )


def _learning(collected: Collected, learning: list[CaseResult]) -> Iterator[FiguresSection]:
    columns = heads("sensor", "cases", "first", "first_three", "questions")
    yield FiguresSection(
        say("cases.by_sensor"), say("cases.learning_half"), heads=columns, rows=list(words.families(learning))
    )
    entries = entries_to_look_at(learning)[:MOST_ROWS]
    rows = [(f"{e.decibans:.1f}", clean(words.entry_says(collected.kb, e))) for e in entries]
    says = say("cases.entries_say")
    yield FiguresSection(say("cases.what_to_mend_first"), says, heads=heads("weight", "entry"), rows=rows)
    rows = [(r.id, clean(words.case_line(r))) for r in learning]
    yield FiguresSection(
        say("cases.case_by_case"), say("cases.learning_half"), heads=heads("case", "what_happened"), rows=rows
    )
    rows = [(case, clean(says)) for case, says in words.misfits(learning)]
    says = say("cases.misfits_say")
    yield FiguresSection(say("cases.questions_that_do_not_fit"), says, heads=heads("case", "question"), rows=rows)


def heads(*names: str) -> tuple[str, ...]:
    """Heads of columns."""
    return tuple(say(f"cases.head_{name}") for name in names)
