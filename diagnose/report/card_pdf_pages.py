"""Draws laid-out field cards with reportlab, line by line where the layout put them."""

from collections.abc import Sequence
from io import BytesIO

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas

from diagnose.report import card_page as page
from diagnose.report.card_page import CardBlock, CardSheet, PrintedCard, PrintedLine
from diagnose.report.card_widths import width
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
        self.room = layout.size[0] - 2 * page.MARGIN

    def sheet(self, sheet: CardSheet, number: int) -> None:
        y = page.MARGIN
        self._head(number)
        y += page.HEAD if number == 1 else page.HEAD_AGAIN
        for block in sheet.wide:
            self._frame(page.MARGIN, y, self.room, block.high - page.GAP, page.STOP_FRAME)
            self._block(block, page.MARGIN, y + page.STOP_FRAME, self.room)
            y += block.high
        for place, column in enumerate(sheet.columns):
            self._column(column, page.MARGIN + place * (self.layout.column + page.GUTTER), y)
        self._foot()

    def _head(self, number: int) -> None:
        top = page.MARGIN
        self._text(page.MARGIN, top + page.TITLE_AT, page.title(self.layout), True, page.TITLE_TYPE)
        self._text(page.MARGIN, top + page.META_AT, page.meta(self.layout, number))
        if number > 1:
            return
        x, gap = page.MARGIN, 6.0
        for label, share in page.fill_in():
            wide = (self.room - gap * (len(page.FILL_IN) - 1)) * share
            self._frame(x, top + page.FILL_AT, wide, page.FILL_HIGH, 0.8)
            self._text(x + 3.0, top + page.FILL_AT + page.TYPE + 1.0, label, True)
            x += wide + gap

    def _foot(self) -> None:
        top = self.high - page.MARGIN - page.FOOT
        self.canvas.setLineWidth(0.8)
        self.canvas.line(page.MARGIN, self.high - top, page.MARGIN + self.room, self.high - top)
        for place, line in enumerate(self.layout.foot, 1):
            self._text(page.MARGIN, top + 1.5 + place * page.LEADING, line)

    def _column(self, blocks: Sequence[CardBlock], x: float, y: float) -> None:
        for block in blocks:
            self._block(block, x, y, self.layout.column)
            y += block.high

    def _block(self, block: CardBlock, x: float, y: float, room: float) -> None:
        base = y + page.TYPE
        if block.mark == "heading":
            self.canvas.setFillGray(0.87)
            wash = len(block.lines) * page.LEADING
            self.canvas.rect(x, self.high - y - wash, room, wash, stroke=0, fill=1)
        if block.label:
            self._badge(x, base, block.label, block.mark, BADGE_WIDE)
        for row in block.lines:
            self._row(row, x, base, room)
            base += page.LEADING

    def _row(self, row: PrintedLine, x: float, base: float, room: float) -> None:
        at = x + row.indent
        for text, bold in row.runs:
            self._text(at, base, text, bold)
            at += width(f"{text} ", page.TYPE, bold)
        right = x + room
        if row.badge:
            wide = page.badge_width(row)
            self._badge(right - wide + 4.0, base, row.badge, row.badge_of, wide - 4.0)
            right -= wide
        if row.tail:
            self._text(right - width(row.tail, page.TYPE, True), base, row.tail, True)

    def _badge(self, x: float, base: float, says: str, mark: str, wide: float) -> None:
        """Black for a step, framed for a cause, bare for a caution."""
        if mark == "step":
            self.canvas.setFillColor(black)
            self.canvas.rect(x, self.high - base - BADGE_DOWN, wide, BADGE_HIGH, stroke=0, fill=1)
        elif mark == "cause":
            self._frame(x, base + BADGE_DOWN - BADGE_HIGH, wide, BADGE_HIGH, 0.9)
        left = x if mark == "caution" else x + (wide - width(says, page.TYPE, True)) / 2.0
        self._text(left, base, says, True, colour=white if mark == "step" else black)

    def _frame(self, x: float, top: float, wide: float, high: float, line: float) -> None:
        self.canvas.setLineWidth(line)
        self.canvas.setStrokeColor(black)
        self.canvas.rect(x, self.high - top - high, wide, high, stroke=1, fill=0)

    def _text(
        self, x: float, base: float, says: str, bold: bool = False, size: float = page.TYPE, colour: Color = black
    ) -> None:
        self.canvas.setFillColor(colour)
        self.canvas.setFont(BOLD if bold else REGULAR, size)
        self.canvas.drawString(x, self.high - base, _plain(says))


def _plain(text: str) -> str:
    """The text in the signs of the font; '?' for what it does not have."""
    known = "".join(ALIKE.get(sign, sign) for sign in text)
    return known.encode("cp1252", "replace").decode("cp1252")
