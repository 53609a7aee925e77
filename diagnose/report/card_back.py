"""The second side of a field card: the points sheet, with what each column stands for and the deciding tests."""

from collections.abc import Iterator

from diagnose.cards.points import DecidingTest, PointsColumn, PointsSheet
from diagnose.present.card import (
    close_says,
    column_needs_says,
    look_needs_says,
    points_figures_says,
    points_how_says,
    sides_says,
)
from diagnose.report.card_paper import (
    FOOT,
    GAP,
    GUTTER,
    HEAD_AGAIN,
    MARGIN,
    PAPERS,
    CardBlock,
    CardSheet,
    PrintedLine,
    broken,
    column_of,
)
from diagnose.report.card_table import table_of
from diagnose.report.card_widths import LEADING
from diagnose.words import say

LEAST_BELOW = 12 * LEADING  # room under the table for its longest block


def back_sheets(sheet: PointsSheet, size: tuple[float, float]) -> Iterator[CardSheet]:
    """The sheet on one page; what finds no room on it goes on further ones, which then are too many."""
    full = size[0] - 2 * MARGIN
    how = broken(CardBlock("how", "", tuple(_how(sheet))), full)
    table = table_of(sheet, full)
    left = [broken(block, (full - GUTTER) / 2.0) for block in _blocks(sheet)]
    room = size[1] - 2 * MARGIN - FOOT - HEAD_AGAIN
    below = room - how.high - table.high(LEADING) - GAP
    columns = (column_of(left, below), column_of(left, below)) if below >= LEAST_BELOW else ((), ())
    yield CardSheet((how,), columns, table)
    while left:
        yield CardSheet((), (column_of(left, room), column_of(left, room)))


def back_fits(sheet: PointsSheet, paper: str) -> bool:
    """Whether the sheet takes no more than its page."""
    return len(list(back_sheets(sheet, PAPERS[paper]))) == 1


def _how(sheet: PointsSheet) -> Iterator[PrintedLine]:
    yield PrintedLine(((points_how_says(sheet), True),), 0.0)
    yield PrintedLine(((points_figures_says(sheet), False),), 0.0)


def _blocks(sheet: PointsSheet) -> Iterator[CardBlock]:
    yield _heading(say("card.columns_heading"))
    yield from map(_column, sheet.columns)
    if sheet.deciding:
        yield _heading(say("card.deciding_heading"))
        yield from map(_test, sheet.deciding)
    if sheet.cautions:
        yield _heading(say("card.further_cautions"))
        for caution in sheet.cautions:
            yield CardBlock("caution", caution.mark, (PrintedLine(((caution.says, False),)),))


def _heading(says: str) -> CardBlock:
    return CardBlock("heading", "", (PrintedLine(((says, True),), 0.0),))


def _column(column: PointsColumn) -> CardBlock:
    marks = " ".join(c.mark for c in column.cautions)
    runs = [(f"{column.says}:", True), (column_needs_says(column), False), (marks, True)]
    return CardBlock("entry", column.letter, (PrintedLine(tuple(run for run in runs if run[0])),))


def _test(test: DecidingTest) -> CardBlock:
    """Which two, what to look at, and which answer speaks for which."""
    marks = " ".join(c.mark for c in test.look.cautions)
    needs = (look_needs_says(test.look), False)
    runs = [(close_says(test), True), needs, (marks, True), (sides_says(test), False)]
    return CardBlock("caution", "", (PrintedLine(tuple(run for run in runs if run[0]), 0.0),))
