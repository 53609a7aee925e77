"""A field card -> blocks, lines and places on the paper: what fits is decided here, for the page and the PDF alike.

Two columns; a block is never broken.
"""

from collections.abc import Iterator, Sequence

from diagnose.cards.card import Box, Card, PrintedBranch, Step, StopOrder
from diagnose.cards.marks import MarkedCaution
from diagnose.present.card import chance_says, foot_of, leaf_says, meta_says, needs_says, title_says
from diagnose.present.clean import cleaned
from diagnose.present.figures import minutes
from diagnose.report.card_back import back_sheets
from diagnose.report.card_paper import (
    FILL_IN,
    FOOT,
    GUTTER,
    HEAD,
    HEAD_AGAIN,
    INDENT,
    MARGIN,
    PAPERS,
    STOP_INDENT,
    TITLE_TYPE,
    CardBlock,
    CardSheet,
    PrintedCard,
    PrintedLine,
    broken,
    column_of,
)
from diagnose.report.card_widths import TYPE, Run, width, wrap
from diagnose.words import say


def lay_out(card: Card, paper: str) -> PrintedCard:
    """The card on as many pages as it takes."""
    card = cleaned(card)
    size = PAPERS[paper]
    full = size[0] - 2 * MARGIN
    column = (full - GUTTER) / 2.0
    wide = tuple(broken(_order(order), full - 2 * STOP_INDENT) for order in card.orders)
    blocks = [broken(block, column) for block in _blocks(card)]
    back = tuple(back_sheets(card.points, size)) if card.points else ()
    sheets = (*_sheets(blocks, wide, size[1]), *back)
    return PrintedCard(card, paper, size, column, sheets, _foot_lines(card, full))


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


def _sheets(blocks: Sequence[CardBlock], wide: tuple[CardBlock, ...], high: float) -> Iterator[CardSheet]:
    """Blocks into columns and columns onto pages, in order; a heading goes with the block after it."""
    left = list(blocks)
    first = True
    while left or first:
        above = wide if first else ()
        room = high - 2 * MARGIN - FOOT - (HEAD if first else HEAD_AGAIN) - sum(b.high for b in above)
        columns = (column_of(left, room), column_of(left, room))
        first = False
        yield CardSheet(above, columns)
