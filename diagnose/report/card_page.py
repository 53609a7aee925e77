"""A field card -> blocks, lines and places on the paper: what fits is decided here, for the page and the PDF alike.

Lengths in points (1/72 inch). Two columns; a block is never broken. The type is 8.5 pt or larger.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from diagnose.cards.card import Box, Card, MarkedCaution, PrintedBranch, Step, StopOrder
from diagnose.present.card import chance_says, foot_of, leaf_says, meta_says, needs_says, title_says
from diagnose.present.clean import cleaned
from diagnose.present.figures import minutes
from diagnose.report.card_widths import Run, width, wrap
from diagnose.words import say

Mark = Literal["", "step", "cause", "stop", "heading", "caution"]

TYPE, LEADING = 8.5, 10.4
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
MARGIN, GUTTER = 28.35, 14.0  # 10 mm at the edges
INDENT = 20.0  # of everything beside a step's number or a cause's letter
GAP, CAUTION_GAP = 5.0, 1.5  # under a block, under a caution
TITLE_TYPE = 13.0
HEAD, HEAD_AGAIN = 68.0, 36.0  # of the first page, with its boxes to fill in by hand, and of the others
TITLE_AT, META_AT, FILL_AT, FILL_HIGH = 12.0, 25.0, 32.0, 28.0  # below the top of the head
FILL_IN = (("present.site", 0.5), ("report.date", 0.2), ("report.name", 0.3))  # key of the label, share of the width
STOP_INDENT = 5.0
STOP_FRAME = 2.0  # thickness of the line round a stop-work order
FOOT = 3.4 * LEADING


@dataclass(frozen=True, slots=True)
class PrintedLine:
    """One printed line, or, before it is broken, one paragraph. `tail` stands at the right end."""

    runs: tuple[Run, ...]
    indent: float = INDENT
    tail: str = ""
    badge: str = ""  # a step's number or a cause's letter after the tail
    badge_of: Mark = ""


@dataclass(frozen=True, slots=True)
class CardBlock:
    """What stays together: paragraphs, and the lines they take in a column. `label` stands beside the first."""

    mark: Mark
    label: str
    rows: tuple[PrintedLine, ...]
    lines: tuple[PrintedLine, ...] = ()

    @property
    def high(self) -> float:
        return len(self.lines) * LEADING + self.gap + (2 * STOP_FRAME if self.mark == "stop" else 0.0)

    @property
    def gap(self) -> float:
        return CAUTION_GAP if self.mark == "caution" else GAP


@dataclass(frozen=True, slots=True)
class CardSheet:
    """One page. `wide` are blocks over both columns, above them."""

    wide: tuple[CardBlock, ...]
    columns: tuple[tuple[CardBlock, ...], tuple[CardBlock, ...]]


@dataclass(frozen=True, slots=True)
class PrintedCard:
    """A card on paper."""

    card: Card
    paper: str
    size: tuple[float, float]
    column: float
    sheets: tuple[CardSheet, ...]
    foot: tuple[str, ...] = field(default=())


def lay_out(card: Card, paper: str) -> PrintedCard:
    """The card on as many pages as it takes."""
    card = cleaned(card)
    size = PAPERS[paper]
    full = size[0] - 2 * MARGIN
    column = (full - GUTTER) / 2.0
    wide = tuple(_broken(_order(order), full - 2 * STOP_INDENT) for order in card.orders)
    blocks = [_broken(block, column) for block in _blocks(card)]
    return PrintedCard(card, paper, size, column, tuple(_sheets(blocks, wide, size[1])), _foot_lines(card, full))


def title(layout: PrintedCard) -> str:
    """The head's first line, cut where it is longer than the page is wide."""
    return shortened(title_says(layout.card), TITLE_TYPE, layout.size[0] - 2 * MARGIN)


def meta(layout: PrintedCard, page: int) -> str:
    """The head's second line."""
    tail = f". {say('card.page', number=page, pages=len(layout.sheets))}"
    return shortened(meta_says(layout.card), TYPE, layout.size[0] - 2 * MARGIN - width(tail, TYPE)) + tail


def fill_in() -> tuple[tuple[str, float], ...]:
    """What is filled in by hand: label, share of the width."""
    return tuple((say(key), share) for key, share in FILL_IN)


def shortened(text: str, size: float, room: float) -> str:
    """The text in one line, with an ellipsis for what there is no room for."""
    if width(text, size, True) <= room:
        return text
    fits_ = next((n for n in range(len(text), 0, -1) if width(text[:n] + "…", size, True) <= room), 0)
    return text[:fits_].rstrip() + "…"


def fits(card: Card, paper: str, pages: int) -> bool:
    """Whether the card takes no more than so many pages."""
    return len(lay_out(card, paper).sheets) <= pages


def _foot_lines(card: Card, room: float) -> tuple[str, ...]:
    broken = (line for says in foot_of(card) for line in wrap([(says, False)], TYPE, room))
    return tuple(" ".join(text for text, _ in line) for line in broken)


def _blocks(card: Card) -> Iterator[CardBlock]:
    if card.cautions:
        yield _heading(say("card.cautions_heading"))
        yield from map(_caution, card.cautions)
    yield _heading(say("card.start_heading"))
    yield from map(_step, card.steps)
    yield _heading(say("card.causes_heading"))
    yield from map(_box, card.boxes)


def _heading(says: str) -> CardBlock:
    return CardBlock("heading", "", (PrintedLine(((says, True),), 0.0),))


def _order(order: StopOrder) -> CardBlock:
    rows = ((say("present.tell"), order.tell), (say("present.tag"), order.tag))
    told = [((f"{label}: ", True), (says, False)) for label, says in rows if says]
    return CardBlock(
        "stop",
        "",
        (PrintedLine(((order.says, True),), STOP_INDENT), *(PrintedLine(tuple(t), STOP_INDENT) for t in told)),
    )


def _caution(caution: MarkedCaution) -> CardBlock:
    return CardBlock("caution", caution.mark, (PrintedLine(((caution.says, caution.grave),)),))


def _step(step: Step) -> CardBlock:
    return CardBlock("step", str(step.number), tuple(_step_rows(step)))


def _step_rows(step: Step) -> Iterator[PrintedLine]:
    if step.stop:
        yield PrintedLine(((say("card.stop_work_stands"), True),))
    yield PrintedLine(((step.asks, True), (f"({minutes(step.minutes)})", False)))
    if step.stand:
        yield PrintedLine(((say("present.stand", where=step.stand), False),))
    if step.opening:
        yield PrintedLine(((say("card.first"), True), (step.opening, False)))
    if step.tools:
        yield PrintedLine(((say("card.with"), True), ("; ".join(step.tools), False)))
    if step.grave:
        yield from (PrintedLine(((f"{c.mark} {c.says}", True),)) for c in step.cautions)
    elif step.cautions:
        yield PrintedLine(((say("card.caution_marks", marks=" ".join(c.mark for c in step.cautions)), True),))
    for line in step.lines:
        yield from _line_rows(line)


def _line_rows(line: PrintedBranch) -> Iterator[PrintedLine]:
    chance = chance_says(line)
    stop: tuple[Run, ...] = ((f"- {say('present.stop_work')}:", True),) if line.stop else ()
    says = (*stop, (line.says if line.stop else f"- {line.says}", False))
    if line.aim == "step":
        yield PrintedLine(says, tail=chance, badge=line.mark, badge_of="step")
    elif line.named:
        yield PrintedLine(says, tail=chance, badge=line.named.letter, badge_of="cause")
        yield PrintedLine(((leaf_says(line), False),), INDENT + 9.0)
    elif line.aim == "call":
        call = say("card.call", number=line.mark)
        yield PrintedLine(says, tail=f"{chance}  {call}" if chance else call)
    else:
        yield PrintedLine(says, tail=say("card.stay"))


def _box(box: Box) -> CardBlock:
    rows = (
        PrintedLine(((box.says, True),), tail=" ".join(c.mark for c in box.cautions)),
        PrintedLine(((f"{say('card.test')}:", True), (box.test, False))),
        PrintedLine(((say("present.remedy"), True), (f"- {needs_says(box)}:", False), (box.remedy, False))),
        PrintedLine(((say("present.proof"), True), (f"- {minutes(box.proof_minutes)}:", False), (box.proof, False))),
    )
    return CardBlock("cause", box.letter, rows)


def _broken(block: CardBlock, room: float) -> CardBlock:
    """The block with its paragraphs broken into lines for this width."""
    return replace(block, lines=tuple(line for row in block.rows for line in _lines(row, room)))


def badge_width(row: PrintedLine) -> float:
    return width(row.badge, TYPE, True) + 10.0 if row.badge else 0.0


def _lines(row: PrintedLine, room: float) -> Iterator[PrintedLine]:
    """The tail goes at the end of the last line where there is room for it, else on a line of its own."""
    inside = room - row.indent
    broken = wrap(row.runs, TYPE, inside)
    tail = width(row.tail, TYPE, True) + badge_width(row) + (6.0 if row.tail or row.badge else 0.0)
    for runs in broken[:-1]:
        yield PrintedLine(tuple(runs), row.indent)
    if not tail:
        yield PrintedLine(tuple(broken[-1]), row.indent)
        return
    used = sum(width(text, TYPE, bold) for text, bold in broken[-1]) + 4.0
    if used + tail <= inside:
        yield replace(row, runs=tuple(broken[-1]))
    else:
        yield PrintedLine(tuple(broken[-1]), row.indent)
        yield replace(row, runs=())


def _sheets(blocks: Sequence[CardBlock], wide: tuple[CardBlock, ...], high: float) -> Iterator[CardSheet]:
    """Blocks into columns and columns onto pages, in order; a heading goes with the block after it."""
    left = list(blocks)
    first = True
    while left or first:
        above = wide if first else ()
        room = high - 2 * MARGIN - FOOT - (HEAD if first else HEAD_AGAIN) - sum(b.high for b in above)
        columns = (_column(left, room), _column(left, room))
        first = False
        yield CardSheet(above, columns)


def _column(left: list[CardBlock], room: float) -> tuple[CardBlock, ...]:
    """Takes from the front of `left` what one column holds; at least one block, so that it never waits for ever."""
    taken: list[CardBlock] = []
    used = 0.0
    while left:
        with_next = left[0].high + (left[1].high if left[0].mark == "heading" and len(left) > 1 else 0.0)
        if taken and used + with_next > room:
            break
        used += left[0].high
        taken.append(left.pop(0))
    return tuple(taken)
