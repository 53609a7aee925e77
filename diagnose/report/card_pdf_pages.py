"""Draws laid-out field cards with reportlab, line by line where the layout put them."""

from collections.abc import Sequence
from io import BytesIO

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas

from diagnose.report import card_page as page
from diagnose.report import card_paper as paper
from diagnose.report.card_paper import CardBlock, CardSheet, PrintedCard, PrintedLine
from diagnose.report.card_table import CELL, RULE, PointsTable, cell_at
from diagnose.report.card_widths import LEADING, TYPE, Run, width
from diagnose.words import spoken

REGULAR, BOLD = "Helvetica", "Helvetica-Bold"  # standard PDF fonts: every reader has them, the widths are known
ALIKE = {"Ω": "ohm", "≥": ">=", "≤": "<=", "−": "-", "→": "->", "μ": "µ", "\u2011": "-"}
BADGE_HIGH, BADGE_DOWN = 9.6, 1.9  # a badge reaches this far below the base line
BADGE_WIDE = 15.0  # at the left of a block


def draw(layouts: Sequence[PrintedCard]) -> bytes:
    """The PDF; the same cards give the same bytes."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=layouts[0].size, invariant=1, lang=spoken().language)
    canvas.setTitle(_plain(page.title(layouts[0])))
    for layout in layouts:
        for number, sheet in enumerate(layout.sheets, 1):
            _Pen(canvas, layout).sheet(sheet, number)
            canvas.showPage()
    canvas.save()
    return out.getvalue()


class _Pen:
    """Draws one page; `y` counts down from the top."""

    def __init__(self, canvas: Canvas, layout: PrintedCard) -> None:
        self.canvas, self.layout = canvas, layout
        self.high = layout.size[1]
        self.room = layout.size[0] - 2 * paper.MARGIN

    def sheet(self, sheet: CardSheet, number: int) -> None:
        y = paper.MARGIN
        self._head(number)
        y += paper.HEAD if number == 1 else paper.HEAD_AGAIN
        for block in sheet.wide:
            self._wide(block, y)
            y += block.high
        if sheet.table:
            self._table(sheet.table, y)
            y += sheet.table.high(LEADING) + paper.GAP
        for place, column in enumerate(sheet.columns):
            self._column(column, paper.MARGIN + place * (self.layout.column + paper.GUTTER), y)
        self._foot()

    def _head(self, number: int) -> None:
        top = paper.MARGIN
        self._text(paper.MARGIN, top + paper.TITLE_AT, page.title(self.layout), True, paper.TITLE_TYPE)
        self._text(paper.MARGIN, top + paper.META_AT, page.meta(self.layout, number))
        if number > 1:
            return
        x, gap = paper.MARGIN, 6.0
        for label, share in page.fill_in():
            wide = (self.room - gap * (len(paper.FILL_IN) - 1)) * share
            self._frame(x, top + paper.FILL_AT, wide, paper.FILL_HIGH, 0.8)
            self._text(x + 3.0, top + paper.FILL_AT + TYPE + 1.0, label, True)
            x += wide + gap

    def _foot(self) -> None:
        top = self.high - paper.MARGIN - paper.FOOT
        self.canvas.setLineWidth(0.8)
        self.canvas.line(paper.MARGIN, self.high - top, paper.MARGIN + self.room, self.high - top)
        for place, line in enumerate(self.layout.foot, 1):
            self._text(paper.MARGIN, top + 1.5 + place * LEADING, line)

    def _wide(self, block: CardBlock, y: float) -> None:
        """A stop-work order in its frame; what else stands over both columns without one."""
        if block.mark == "stop":
            self._frame(paper.MARGIN, y, self.room, block.high - paper.GAP, paper.STOP_FRAME)
            y += paper.STOP_FRAME
        self._block(block, paper.MARGIN, y, self.room)

    def _table(self, table: PointsTable, y: float) -> None:
        """A line above every look, and one on either side of every column of points."""
        top, x = y, paper.MARGIN
        for line in table.lines:
            if line.begins:
                self._stroke(x, y + RULE / 2.0, x + self.room, y + RULE / 2.0)
                y += RULE
            base = y + TYPE
            self._runs(x, base, line.look)
            self._runs(x + table.look, base, line.answer)
            for place, says in enumerate(line.cells):
                self._text(x + cell_at(table, place, says), base, says)
            y += LEADING
        self._stroke(x, y, x + self.room, y)
        for place in range(table.cells + 1):
            at = x + table.look + table.answer + place * CELL
            self._stroke(at, top + RULE / 2.0, at, y)

    def _stroke(self, x: float, y: float, to_x: float, to_y: float) -> None:
        self.canvas.setLineWidth(0.5)
        self.canvas.setStrokeColor(black)
        self.canvas.line(x, self.high - y, to_x, self.high - to_y)

    def _runs(self, x: float, base: float, runs: Sequence[Run]) -> None:
        for text, bold in runs:
            self._text(x, base, text, bold)
            x += width(f"{text} ", TYPE, bold)

    def _column(self, blocks: Sequence[CardBlock], x: float, y: float) -> None:
        for block in blocks:
            self._block(block, x, y, self.layout.column)
            y += block.high

    def _block(self, block: CardBlock, x: float, y: float, room: float) -> None:
        base = y + TYPE
        if block.mark == "heading":
            self.canvas.setFillGray(0.87)
            wash = len(block.lines) * LEADING
            self.canvas.rect(x, self.high - y - wash, room, wash, stroke=0, fill=1)
        if block.label:
            self._badge(x, base, block.label, block.mark, BADGE_WIDE)
        for row in block.lines:
            self._row(row, x, base, room)
            base += LEADING

    def _row(self, row: PrintedLine, x: float, base: float, room: float) -> None:
        self._runs(x + row.indent, base, row.runs)
        right = x + room
        if row.badge:
            wide = paper.badge_width(row)
            self._badge(right - wide + 4.0, base, row.badge, row.badge_of, wide - 4.0)
            right -= wide
        if row.tail:
            self._text(right - width(row.tail, TYPE, True), base, row.tail, True)

    def _badge(self, x: float, base: float, says: str, mark: str, wide: float) -> None:
        """Black for a step, framed for a cause, bare for a caution."""
        if mark == "step":
            self.canvas.setFillColor(black)
            self.canvas.rect(x, self.high - base - BADGE_DOWN, wide, BADGE_HIGH, stroke=0, fill=1)
        elif mark in ("cause", "entry"):
            self._frame(x, base + BADGE_DOWN - BADGE_HIGH, wide, BADGE_HIGH, 0.9)
        left = x if mark == "caution" else x + (wide - width(says, TYPE, True)) / 2.0
        self._text(left, base, says, True, colour=white if mark == "step" else black)

    def _frame(self, x: float, top: float, wide: float, high: float, line: float) -> None:
        self.canvas.setLineWidth(line)
        self.canvas.setStrokeColor(black)
        self.canvas.rect(x, self.high - top - high, wide, high, stroke=1, fill=0)

    def _text(
        self, x: float, base: float, says: str, bold: bool = False, size: float = TYPE, colour: Color = black
    ) -> None:
        self.canvas.setFillColor(colour)
        self.canvas.setFont(BOLD if bold else REGULAR, size)
        self.canvas.drawString(x, self.high - base, _plain(says))


def _plain(text: str) -> str:
    """The text in the signs of the font; '?' for what it does not have."""
    known = "".join(ALIKE.get(sign, sign) for sign in text)
    return known.encode("cp1252", "replace").decode("cp1252")
