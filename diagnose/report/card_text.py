"""A field card as a plain outline for the terminal."""

from collections.abc import Iterator

from diagnose.cards.card import Box, Card, Line, Step
from diagnose.report.card_page import NOTE, STILL, foot, named_says, percent

Written = tuple[str, str, str]  # what stands in front, the text that hangs under itself, style


def outline(card: Card) -> Iterator[Written]:
    """The whole card, one paragraph after the other."""
    yield "", f"Field card: {card.complaint}", "bold"
    yield "", f"{card.kinds}; {card.role}; knowledge {card.digest[:8]}; printed {card.dated}", ""
    for order in card.orders:
        yield "!! ", f"{order.says} Tell: {order.tell} Tag: {order.tag}", "bold red"
    for caution in card.cautions:
        yield f"CAUTION {caution.mark}  ", caution.says, "bold yellow" if caution.grave else ""
    for step in card.steps:
        yield from _step(step)
    for box in card.boxes:
        yield from _box(box)
    yield "", "", ""
    yield from (("", line, "") for line in foot(card) if line != NOTE)
    yield "", NOTE, ""


def _step(step: Step) -> Iterator[Written]:
    yield "", "", ""
    if step.stop:
        yield "!! ", "STOP WORK stands: go on only when the gate is safe.", "bold red"
    marks = f" [{' '.join(c.mark for c in step.cautions)}]" if step.cautions else ""
    yield f"{step.number:3d}. ", f"{step.asks} ({step.minutes:g} min){marks}", "bold"
    for says in filter(None, (step.stand, step.opening, "; ".join(step.tools))):
        yield "     ", says, "dim"
    for line in step.lines:
        yield "     - ", _line(line), ""


def _line(line: Line) -> str:
    says = f"{'STOP WORK: ' if line.stop else ''}{line.says}"
    says += f" ({percent(line.chance)})" if line.chance is not None else ""
    if line.aim == "step":
        return f"{says} -> {line.mark}"
    if line.named:
        return f"{says} -> {line.named.letter}: {named_says(line.named, line)}"
    return f"{says} -> call the help-desk with {line.mark}" if line.aim == "call" else f"{says} -> {STILL}"


def _box(box: Box) -> Iterator[Written]:
    yield "", "", ""
    marks = f" [{' '.join(c.mark for c in box.cautions)}]" if box.cautions else ""
    yield f"{box.letter:>3}. ", f"{box.says}{marks}", "bold"
    yield "     Test: ", box.test, ""
    needs = ", ".join([f"{box.minutes:g} min", *filter(None, [box.access]), *["licensed electrician"] * box.licensed])
    yield "     Remedy: ", f"({needs}) {box.remedy}", ""
    yield "     Proof: ", f"({box.proof_minutes:g} min) {box.proof}", ""
