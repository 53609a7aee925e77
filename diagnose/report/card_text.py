"""A field card as a plain outline for the terminal."""

from collections.abc import Iterator

from diagnose.cards.card import Box, Card, PrintedBranch, Step
from diagnose.cards.points import Points, PointsSheet
from diagnose.present.card import (
    chance_says,
    close_says,
    column_needs_says,
    foot_of,
    leaf_says,
    look_needs_says,
    meta_says,
    needs_says,
    points_figures_says,
    points_how_says,
    sides_says,
    title_says,
)
from diagnose.present.figures import minutes
from diagnose.words import say

Written = tuple[str, str, str]  # what stands in front, the text that hangs under itself, style


def outline(card: Card) -> Iterator[Written]:
    """The whole card, one paragraph after the other."""
    yield "", title_says(card), "bold"
    yield "", meta_says(card), ""
    for order in card.orders:
        told = (f"{say('present.tell')}: {order.tell}", f"{say('present.tag')}: {order.tag}")
        yield "!! ", " ".join((order.says, *told)), "bold red"
    for caution in card.cautions:
        yield f"{say('present.caution')} {caution.mark}  ", caution.says, "bold yellow" if caution.grave else ""
    for step in card.steps:
        yield from _step(step)
    for box in card.boxes:
        yield from _box(box)
    if card.points:
        yield from _points(card.points)
    yield "", "", ""
    yield from (("", line, "") for line in foot_of(card))


def _points(sheet: PointsSheet) -> Iterator[Written]:
    """The second side, cause by cause and look by look; points only where they are not 0."""
    yield "", "", ""
    yield "", points_how_says(sheet), "bold"
    yield "", points_figures_says(sheet), ""
    for column in sheet.columns:
        yield f"{column.letter:>3}. ", f"{column.says}: {column_needs_says(column)}", ""
    yield "     ", f"{say('card.points_start')}: {_told(sheet, sheet.start)}", ""
    for look in sheet.looks:
        marks = f" [{' '.join(c.mark for c in look.cautions)}]" if look.cautions else ""
        yield "     ", f"{look.asks} {look_needs_says(look)}{marks}", "bold"
        for answer in look.answers:
            yield "     - ", f"{answer.says}: {_told(sheet, answer.points)}", ""
    for test in sheet.deciding:
        yield "     ", f"{close_says(test)} {look_needs_says(test.look)} {sides_says(test)}", ""


def _told(sheet: PointsSheet, points: Points) -> str:
    return "  ".join(f"{c.letter} {p:+d}" for c, p in zip(sheet.columns, points, strict=True) if p)


def _step(step: Step) -> Iterator[Written]:
    yield "", "", ""
    if step.stop:
        yield "!! ", say("card.stop_work_stands"), "bold red"
    marks = f" [{' '.join(c.mark for c in step.cautions)}]" if step.cautions else ""
    yield f"{step.number:3d}. ", f"{step.asks} ({minutes(step.minutes)}){marks}", "bold"
    for says in filter(None, (step.stand, step.opening, "; ".join(step.tools))):
        yield "     ", says, "dim"
    for line in step.lines:
        yield "     - ", _line(line), ""


def _line(line: PrintedBranch) -> str:
    says = f"{say('present.stop_work')}: {line.says}" if line.stop else line.says
    says += f" ({chance})" if (chance := chance_says(line)) else ""
    if line.named:
        return f"{says} -> {line.named.letter}: {leaf_says(line)}"
    ends = {"step": line.mark, "call": say("card.call_help_desk", number=line.mark)}
    return f"{says} -> {ends.get(line.aim) or say('card.stay')}"


def _box(box: Box) -> Iterator[Written]:
    yield "", "", ""
    marks = f" [{' '.join(c.mark for c in box.cautions)}]" if box.cautions else ""
    yield f"{box.letter:>3}. ", f"{box.says}{marks}", "bold"
    yield f"     {say('card.test')}: ", box.test, ""
    yield f"     {say('present.remedy')}: ", f"({needs_says(box)}) {box.remedy}", ""
    yield f"     {say('present.proof')}: ", f"({minutes(box.proof_minutes)}) {box.proof}", ""
