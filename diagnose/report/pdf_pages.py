"""Draws a laid-out record with reportlab. Imported only where the extra is installed."""

from collections.abc import Iterable, Iterator, Sequence
from io import BytesIO
from typing import Any

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    Image,
    KeepTogether,
    ListFlowable,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from diagnose.report import parts
from diagnose.report.layout import RecordPage
from diagnose.report.pdf_text import BOLD, REGULAR, UNKNOWN, Writer
from diagnose.words import say, spoken

SIZE = (210 * mm, 279 * mm)  # as wide as A4 and as high as letter: prints on both as it is
SIDE, TOP, BOTTOM = 18 * mm, 16 * mm, 18 * mm
WIDTH = SIZE[0] - 2 * SIDE
FACT_LABEL = 38 * mm
PHOTO = 85 * mm  # the longer side of a picture
PART_NEEDS, HEADING_NEEDS = 40 * mm, 28 * mm  # with less left on the page, the next one begins
LONG_TEXT = 800  # characters
INK, FAINT, RULE, RED, GREEN = (HexColor(c) for c in ("#1a1a1a", "#444444", "#bbbbbb", "#a01919", "#1d6b35"))


def _style(size: float, **more: Any) -> ParagraphStyle:
    base: dict[str, Any] = {"fontName": REGULAR, "fontSize": size, "leading": size * 1.35, "textColor": INK}
    return ParagraphStyle("", None, **(base | more))


NORMAL, STRONG, MORE = (
    _style(9, spaceAfter=2),
    _style(9, fontName=BOLD, spaceAfter=2),
    _style(8, textColor=FAINT, spaceBefore=1),
)
TITLE, SUBTITLE = _style(17, fontName=BOLD), _style(9, textColor=FAINT, spaceAfter=8)
PART = _style(12, fontName=BOLD, spaceBefore=14, spaceAfter=4)
HEADING = _style(9.5, fontName=BOLD, spaceBefore=8, spaceAfter=2)
PLAIN_GRID: list[tuple[Any, ...]] = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]


def draw(page: RecordPage, images: parts.Images = parts.NO_IMAGES) -> bytes:
    """The PDF; the same record gives the same bytes."""
    writer, out = Writer(), BytesIO()
    story = list(_story(page, writer, images))
    if writer.missing:
        story.append(Paragraph(writer.markup(say("report.missing_characters", sign=UNKNOWN)), MORE))
    document = BaseDocTemplate(
        out,
        pagesize=SIZE,
        title=writer.plain(f"{page.title}: {page.subtitle}"),
        creator=page.footer,
        lang=spoken().language,
        invariant=1,
    )
    frame = Frame(SIDE, BOTTOM, WIDTH, SIZE[1] - TOP - BOTTOM, 0, 0, 0, 0)
    foot = writer.plain(f"{page.title}: {page.subtitle}")[:90]
    document.addPageTemplates(PageTemplate("page", [frame], onPage=lambda canvas, _: _foot(canvas, foot, writer)))
    document.build(story)
    return out.getvalue()


def _foot(canvas: Canvas, text: str, writer: Writer) -> None:
    number = writer.plain(say("report.page", number=canvas.getPageNumber()))
    canvas.setFont(REGULAR, 7.5)
    canvas.setFillColor(FAINT)
    canvas.drawString(SIDE, BOTTOM - 8 * mm, text)
    canvas.drawRightString(SIZE[0] - SIDE, BOTTOM - 8 * mm, number)


def _story(page: RecordPage, writer: Writer, images: parts.Images) -> Iterator[Flowable]:
    yield Paragraph(writer.markup(page.title), TITLE)
    yield Paragraph(writer.markup(page.subtitle), SUBTITLE)
    yield _boxed([(page.banner, STRONG), (page.reason, NORMAL)], GREEN if page.tone == "good" else RED, writer)
    for section in page.sections:
        yield CondPageBreak(PART_NEEDS)
        yield Paragraph(writer.markup(section.title), PART)
        for block in section.blocks:
            yield from _block(block, writer, images)


def _block(block: parts.Block, writer: Writer, images: parts.Images) -> Iterator[Flowable]:
    match block:
        case parts.Text(says, strong):
            yield Paragraph(writer.markup(says), STRONG if strong else NORMAL)
        case parts.Heading(says):
            yield CondPageBreak(HEADING_NEEDS)
            yield Paragraph(writer.markup(says), HEADING)
        case parts.Facts(rows):
            yield _facts(rows, WIDTH, writer)
        case parts.Bullets(items):
            yield ListFlowable(
                [Paragraph(writer.markup(item), NORMAL) for item in items],
                bulletType="bullet",
                start="•",
                leftIndent=10,
                bulletFontName=REGULAR,
                bulletFontSize=9,
            )
        case parts.Table():
            yield _table(block, writer)
        case parts.Alarm(says, rows, settled):
            yield _boxed(
                [(says, STRONG), *((f"{k}: {v}", NORMAL) for k, v in rows)], FAINT if settled else RED, writer
            )
            yield Spacer(0, 4)
        case parts.Photos(items):
            yield from (_photo(item, images.get(item.name), writer) for item in items)
        case parts.Lines(labels):
            for label in labels:
                yield _sign(label, writer)


def _photo(item: parts.Pasted, data: bytes | None, writer: Writer) -> Flowable:
    """The picture with what is said below it, kept together."""
    there = Image(BytesIO(data), PHOTO, PHOTO, kind="proportional", hAlign="LEFT") if data else None
    first = there or Paragraph(writer.markup(item.missing), STRONG)
    return KeepTogether([Spacer(0, 4), first, *_cell(item.below, writer)])


def _boxed(lines: Sequence[tuple[str, ParagraphStyle]], colour: Color, writer: Writer) -> Table:
    """Lines behind a thick coloured bar."""
    rows = [[Paragraph(writer.markup(says), style)] for says, style in lines if says]
    bar = [("LINEBEFORE", (0, 0), (0, -1), 4, colour), ("BOX", (0, 0), (-1, -1), 0.5, colour)]
    return Table(rows, [WIDTH], style=TableStyle(bar), splitInRow=_may_split(says for says, _ in lines))


def _facts(rows: Sequence[tuple[str, str]], width: float, writer: Writer) -> Table:
    cells = [[Paragraph(writer.markup(k), MORE), Paragraph(writer.markup(v), NORMAL)] for k, v in rows]
    lines: list[tuple[Any, ...]] = [("LINEBELOW", (0, 0), (-1, -2), 0.25, RULE)]
    return Table(
        cells,
        [FACT_LABEL, width - FACT_LABEL],
        style=TableStyle(PLAIN_GRID + lines),
        splitInRow=_may_split(v for _, v in rows),
    )


def _table(block: parts.Table, writer: Writer) -> Table:
    head = [Paragraph(writer.markup(label), MORE) for label in block.head]
    body = [[_cell(cell, writer) for cell in row] for row in block.rows]
    widths = [WIDTH * share / sum(block.widths) for share in block.widths]
    lines: list[tuple[Any, ...]] = [
        ("LINEBELOW", (0, 0), (-1, 0), 0.5, FAINT),
        ("LINEBELOW", (0, 1), (-1, -1), 0.25, RULE),
    ]
    split = _may_split(line for row in block.rows for cell in row for line in cell)
    return Table([head, *body], widths, repeatRows=1, style=TableStyle(PLAIN_GRID + lines), splitInRow=split)


def _may_split(texts: Iterable[str]) -> bool:
    """Whether a row may go on overleaf: only where it might fill a page, for a split row is hard to read."""
    return max(map(len, texts), default=0) > LONG_TEXT


def _cell(cell: parts.Cell, writer: Writer) -> list[Paragraph]:
    first, *more = cell
    return [Paragraph(writer.markup(first), NORMAL), *(Paragraph(writer.markup(line), MORE) for line in more)]


def _sign(label: str, writer: Writer) -> Table:
    """Name, signature and date over a line each, kept together."""
    captions = [Paragraph(writer.markup(say(f"report.{name}")), MORE) for name in ("name", "signature", "date")]
    gap, share = 6 * mm, WIDTH / 5
    cells = [
        [Paragraph(writer.markup(label), STRONG), "", "", "", ""],
        [captions[0], "", captions[1], "", captions[2]],
    ]
    style: list[tuple[Any, ...]] = [
        ("SPAN", (0, 0), (-1, 0)),
        *(("LINEABOVE", (c, 1), (c, 1), 0.5, INK) for c in (0, 2, 4)),
    ]
    widths = [2 * share - gap, gap, 2 * share - gap, gap, share]
    return Table(cells, widths, [15 * mm, None], style=TableStyle(PLAIN_GRID + style), spaceBefore=2)
