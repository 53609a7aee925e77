"""The paper of a field card: its measures, blocks and lines, and how blocks are broken and put into columns.

Lengths in points (1/72 inch). A block is never broken. The type is 8.5 pt or larger.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from diagnose.cards.card import Card
from diagnose.report.card_table import PointsTable
from diagnose.report.card_widths import LEADING, TYPE, Run, width, wrap

Mark = Literal["", "step", "cause", "stop", "heading", "caution", "entry", "how"]

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
        return CAUTION_GAP if self.mark in ("caution", "entry") else GAP


@dataclass(frozen=True, slots=True)
class CardSheet:
    """One page. `wide` are blocks over both columns, above them."""

    wide: tuple[CardBlock, ...]
    columns: tuple[tuple[CardBlock, ...], tuple[CardBlock, ...]]
    table: PointsTable | None = None  # above the columns


@dataclass(frozen=True, slots=True)
class PrintedCard:
    """A card on paper."""

    card: Card
    paper: str
    size: tuple[float, float]
    column: float
    sheets: tuple[CardSheet, ...]
    foot: tuple[str, ...] = field(default=())


def broken(block: CardBlock, room: float) -> CardBlock:
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


def column_of(left: list[CardBlock], room: float) -> tuple[CardBlock, ...]:
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
