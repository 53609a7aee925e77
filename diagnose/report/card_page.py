"""A field card -> blocks, lines and places on the paper: what fits is decided here, for the page and the PDF alike.

Lengths in points (1/72 inch). Two columns; a block is never broken. The type is 8.5 pt or larger.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from diagnose.cards.card import Box, Card, Caution, Line, Named, Reach, Step, StopOrder
from diagnose.present.clean import cleaned
from diagnose.report.card_widths import Run, width, wrap

Mark = Literal["", "step", "cause", "stop", "heading", "caution"]

TYPE, LEADING = 8.5, 10.4
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
MARGIN, GUTTER = 28.35, 14.0  # 10 mm at the edges
INDENT = 20.0  # of everything beside a step's number or a cause's letter
GAP, CAUTION_GAP = 5.0, 1.5  # under a block, under a caution
TITLE_TYPE = 13.0
HEAD, HEAD_AGAIN = 68.0, 36.0  # of the first page, with its boxes to fill in by hand, and of the others
TITLE_AT, META_AT, FILL_AT, FILL_HIGH = 12.0, 25.0, 32.0, 28.0  # below the top of the head
FILL_IN = (("Site", 0.5), ("Date", 0.2), ("Name", 0.3))  # label, share of the width
STOP_INDENT = 5.0
STOP_FRAME = 2.0  # thickness of the line round a stop-work order
FOOT = 3.4 * LEADING
NOTE = "Decision support, no statement of conformity: local codes and licensed practice decide."
HARD_SPACE = "\u00a0"
STILL = "stay at this step until it is"


@dataclass(frozen=True, slots=True)
class Row:
    """One printed line, or, before it is broken, one paragraph. `tail` stands at the right end."""

    runs: tuple[Run, ...]
    indent: float = INDENT
    tail: str = ""
    badge: str = ""  # a step's number or a cause's letter after the tail
    badge_of: Mark = ""


@dataclass(frozen=True, slots=True)
class Block:
    """What stays together: paragraphs, and the lines they take in a column. `label` stands beside the first."""

    mark: Mark
    label: str
    rows: tuple[Row, ...]
    lines: tuple[Row, ...] = ()

    @property
    def high(self) -> float:
        return len(self.lines) * LEADING + self.gap + (2 * STOP_FRAME if self.mark == "stop" else 0.0)

    @property
    def gap(self) -> float:
        return CAUTION_GAP if self.mark == "caution" else GAP


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page. `wide` are blocks over both columns, above them."""

    wide: tuple[Block, ...]
    columns: tuple[tuple[Block, ...], tuple[Block, ...]]


@dataclass(frozen=True, slots=True)
class Layout:
    """A card on paper."""

    card: Card
    paper: str
    size: tuple[float, float]
    column: float
    sheets: tuple[Sheet, ...]
    foot: tuple[str, ...] = field(default=())


def lay_out(card: Card, paper: str) -> Layout:
    """The card on as many pages as it takes."""
    card = cleaned(card)
    size = PAPERS[paper]
    full = size[0] - 2 * MARGIN
    column = (full - GUTTER) / 2.0
    wide = tuple(_broken(_order(order), full - 2 * STOP_INDENT) for order in card.orders)
    blocks = [_broken(block, column) for block in _blocks(card)]
    return Layout(card, paper, size, column, tuple(_sheets(blocks, wide, size[1])), _foot_lines(card, full))


def title(layout: Layout) -> str:
    """The head's first line, cut where it is longer than the page is wide."""
    return shortened(f"Field card: {layout.card.complaint}", TITLE_TYPE, layout.size[0] - 2 * MARGIN)


def meta(layout: Layout, page: int) -> str:
    """The head's second line."""
    card = layout.card
    kinds, role = (f"{words[:1].upper()}{words[1:]}" for words in (card.kinds, card.role))
    says = f"{kinds}. {role}. Knowledge {card.digest[:8]}, printed {card.dated}"
    tail = f". Page {page} of {len(layout.sheets)}"
    return shortened(says, TYPE, layout.size[0] - 2 * MARGIN - width(tail, TYPE)) + tail


def shortened(text: str, size: float, room: float) -> str:
    """The text in one line, with an ellipsis for what there is no room for."""
    if width(text, size, True) <= room:
        return text
    fits_ = next((n for n in range(len(text), 0, -1) if width(text[:n] + "…", size, True) <= room), 0)
    return text[:fits_].rstrip() + "…"


def fits(card: Card, paper: str, pages: int) -> bool:
    """Whether the card takes no more than so many pages."""
    return len(lay_out(card, paper).sheets) <= pages


def foot(card: Card) -> Iterator[str]:
    """What stands under every page."""
    own = f"If the knowledge is right, this card names the cause in {percent(card.names)} of such visits."
    yield reach_says(card.reach) if card.reach else own
    yield NOTE


def _foot_lines(card: Card, room: float) -> tuple[str, ...]:
    broken = (line for says in foot(card) for line in wrap([(says, False)], TYPE, room))
    return tuple(" ".join(text for text, _ in line) for line in broken)


def reach_says(reach: Reach) -> str:
    """How far the card leads, against the live tool."""
    return (
        f"Settles {percent(reach.card)} of the cases ({percent(reach.first_two)} with the runner-up); the live tool "
        f"settles {percent(reach.live)}. {percent(reach.asks)} end with a call. Checks take "
        f"{reach.card_minutes:.0f} min by the card, {reach.live_minutes:.0f} min by the tool. "
        f"({reach.cases} simulated visits; true as far as the knowledge is.)"
    )


def percent(share: float) -> str:
    """A share as people read it; what is not nothing is never shown as 0 %."""
    if 0.0 < share < 0.005:
        return f"under{HARD_SPACE}1{HARD_SPACE}%"
    return f"{share:.0%}".replace("%", f"{HARD_SPACE}%")


def _blocks(card: Card) -> Iterator[Block]:
    if card.cautions:
        yield _heading("Cautions: the same marks stand beside checks and remedies")
        yield from map(_caution, card.cautions)
    yield _heading("Start at 1. Black number: next step. Framed letter: cause. Call: help-desk, with that number.")
    yield from map(_step, card.steps)
    yield _heading("Causes: make sure by the test, then mend, then prove (…: more in the tool)")
    yield from map(_box, card.boxes)


def _heading(says: str) -> Block:
    return Block("heading", "", (Row(((says, True),), 0.0),))


def _order(order: StopOrder) -> Block:
    told = [(("Tell: ", True), (order.tell, False))] if order.tell else []
    told += [(("Tag: ", True), (order.tag, False))] if order.tag else []
    return Block("stop", "", (Row(((order.says, True),), STOP_INDENT), *(Row(tuple(t), STOP_INDENT) for t in told)))


def _caution(caution: Caution) -> Block:
    return Block("caution", caution.mark, (Row(((caution.says, caution.grave),)),))


def _step(step: Step) -> Block:
    return Block("step", str(step.number), tuple(_step_rows(step)))


def _step_rows(step: Step) -> Iterator[Row]:
    if step.stop:
        yield Row((("STOP WORK (see the top) - go on only when:", True),))
    yield Row(((step.asks, True), (f"({step.minutes:g} min)", False)))
    if step.stand:
        yield Row(((f"Have them stand {step.stand}.", False),))
    if step.opening:
        yield Row((("First:", True), (step.opening, False)))
    if step.tools:
        yield Row((("With:", True), ("; ".join(step.tools), False)))
    if step.grave:
        yield from (Row(((f"{c.mark} {c.says}", True),)) for c in step.cautions)
    elif step.cautions:
        yield Row(((f"Caution {' '.join(c.mark for c in step.cautions)}", True),))
    for line in step.lines:
        yield from _line_rows(line)


def _line_rows(line: Line) -> Iterator[Row]:
    chance = percent(line.chance) if line.chance is not None else ""
    stop: tuple[Run, ...] = (("- STOP WORK:", True),) if line.stop else ()
    says = (*stop, (line.says if line.stop else f"- {line.says}", False))
    if line.aim == "step":
        yield Row(says, tail=chance, badge=line.mark, badge_of="step")
    elif line.named:
        yield Row(says, tail=chance, badge=line.named.letter, badge_of="cause")
        yield Row(((named_says(line.named, line), False),), INDENT + 9.0)
    elif line.aim == "call":
        yield Row(says, tail=f"{chance}  call {line.mark}" if chance else f"call {line.mark}")
    else:
        yield Row(says, tail=STILL)


def named_says(named: Named, line: Line) -> str:
    """'42 % sure, next C 12 %; neither: call 4YMV-6QN8'."""
    runner = named.runner_letter or f"“{named.runner}”"
    says = f"{percent(named.likely)} likely, next {runner} {percent(named.runner_likely)}"
    says += f"; neither: call {line.mark}" if line.mark else ""
    return says + (f" ({' '.join(line.cautions)})" if line.cautions else "")


def _box(box: Box) -> Block:
    needs = ", ".join([f"{box.minutes:g} min", *filter(None, [box.access]), *["licensed electrician"] * box.licensed])
    marks = " ".join(c.mark for c in box.cautions)
    rows = (
        Row(((box.says, True),), tail=marks),
        Row((("Test:", True), (box.test, False))),
        Row((("Remedy", True), (f"- {needs}:", False), (box.remedy, False))),
        Row((("Proof", True), (f"- {box.proof_minutes:g} min:", False), (box.proof, False))),
    )
    return Block("cause", box.letter, rows)


def _broken(block: Block, room: float) -> Block:
    """The block with its paragraphs broken into lines for this width."""
    return replace(block, lines=tuple(line for row in block.rows for line in _lines(row, room)))


def badge_width(row: Row) -> float:
    return width(row.badge, TYPE, True) + 10.0 if row.badge else 0.0


def _lines(row: Row, room: float) -> Iterator[Row]:
    """The tail goes at the end of the last line where there is room for it, else on a line of its own."""
    inside = room - row.indent
    broken = wrap(row.runs, TYPE, inside)
    tail = width(row.tail, TYPE, True) + badge_width(row) + (6.0 if row.tail or row.badge else 0.0)
    for runs in broken[:-1]:
        yield Row(tuple(runs), row.indent)
    if not tail:
        yield Row(tuple(broken[-1]), row.indent)
        return
    used = sum(width(text, TYPE, bold) for text, bold in broken[-1]) + 4.0
    if used + tail <= inside:
        yield replace(row, runs=tuple(broken[-1]))
    else:
        yield Row(tuple(broken[-1]), row.indent)
        yield replace(row, runs=())


def _sheets(blocks: Sequence[Block], wide: tuple[Block, ...], high: float) -> Iterator[Sheet]:
    """Blocks into columns and columns onto pages, in order; a heading goes with the block after it."""
    left = list(blocks)
    first = True
    while left or first:
        above = wide if first else ()
        room = high - 2 * MARGIN - FOOT - (HEAD if first else HEAD_AGAIN) - sum(b.high for b in above)
        columns = (_column(left, room), _column(left, room))
        first = False
        yield Sheet(above, columns)


def _column(left: list[Block], room: float) -> tuple[Block, ...]:
    """Takes from the front of `left` what one column holds; at least one block, so that it never waits for ever."""
    taken: list[Block] = []
    used = 0.0
    while left:
        with_next = left[0].high + (left[1].high if left[0].mark == "heading" and len(left) > 1 else 0.0)
        if taken and used + with_next > room:
            break
        used += left[0].high
        taken.append(left.pop(0))
    return tuple(taken)
