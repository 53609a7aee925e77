"""Played field cases as one self-contained page: totals of both halves, plots, and the learning half in full."""

from collections.abc import Iterator

from diagnose.cases import words
from diagnose.cases.collect import Collected
from diagnose.cases.figures import case_figures, entries_to_look_at
from diagnose.cases.model import Half
from diagnose.cases.result import Result
from diagnose.cases.runs import AS_IT_IS
from diagnose.present.clean import clean
from diagnose.report import measure_plots as plots
from diagnose.report.figures_page import Section, figures_page
from diagnose.report.svg import Plot, ticks

MOST_ROWS = 60
BINS = 20


def page(collected: Collected) -> bytes:
    """UTF-8 HTML; it asks for nothing from outside and runs no script."""
    subtitle = (
        f"{len(collected.tool)} invented gates written by people who had not seen the knowledge, seed "
        f"{collected.wanted.seed}, knowledge {collected.kb.digest[:12]}. Shares with Wilson's 95 % interval."
    )
    return figures_page("Field cases", subtitle, _sections(collected), "Invented gates; no claim about any real one.")


def _sections(collected: Collected) -> Iterator[Section]:
    for half in words.halves(collected):
        yield from _half(collected, half)
    if learning := collected.open:
        yield from _learning(collected, learning)


def _half(collected: Collected, half: Half) -> Iterator[Section]:
    results = collected.of(AS_IT_IS, half)
    found = case_figures(results)
    rows = [*words.rows(found), *words.spoilt_rows(collected, half)]
    yield Section(words.HALF_SAYS[half], "", heads=("what", "measured"), rows=rows)
    says = "Dots on the line: what is stated comes true. Ten equal groups; the bar is where 95 % fall if it is true."
    yield Section(f"Reliability, {half} half", says, plots.reliability(found.calibration.bins))
    yield Section(f"Questions until concluded, {half} half", "", _questions(results))
    compared = list(words.compared_rows(collected, half))
    if len(compared) > 1:
        heads = ("way of asking", "first", "first three", "questions", "minutes to a remedy", "right at once")
        yield Section(f"Ways of asking, {half} half", "The same cases in the same run.", heads=heads, rows=compared)


def _questions(results: list[Result]) -> str:
    """How many visits needed how many questions."""
    asked = [r.concluded.questions for r in results]
    counts = [asked.count(n) for n in range(max(asked) + 1)]
    plot = Plot("Questions until concluded", (0, len(counts)), (0, max(counts) * 1.1), "Visits per count.", 240)
    plot.boxes([(n, 0, n + 0.9, c) for n, c in enumerate(counts) if c], "bar")
    across = [(v + 0.45, f"{v:g}") for v in ticks(0, len(counts), BINS)]
    return plot.drawn(across, [(v, f"{v:g}") for v in ticks(0, max(counts), 6)], "questions", "visits")


def _learning(collected: Collected, learning: list[Result]) -> Iterator[Section]:
    heads = ("sensor", "cases", "first", "first three", "questions")
    yield Section("By the sensor it is about", "Learning half.", heads=heads, rows=list(words.families(learning)))
    entries = entries_to_look_at(learning)[:MOST_ROWS]
    rows = [(f"{e.decibans:.1f}", clean(words.entry_says(collected.kb, e))) for e in entries]
    says = "True answers that counted against a true cause, in tenths of a decade in all: the entries to look at."
    yield Section("What to mend first", says, heads=("weight", "entry"), rows=rows)
    rows = [(r.id, clean(words.case_line(r))) for r in learning]
    yield Section("Case by case", "Learning half.", heads=("case", "what happened"), rows=rows)
    rows = [(case, clean(says)) for case, says in words.misfits(learning)]
    says = "Questions without an answer that fits, asked again for nothing, or not encoded."
    yield Section("Questions that do not fit", says, heads=("case", "question"), rows=rows)
