"""The table of a points sheet -> its lines on the paper: what is looked at, the answers, a cell for each column."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from diagnose.cards.points import PointsLook, PointsSheet
from diagnose.present.card import look_needs_says
from diagnose.report.card_widths import TYPE, Run, width, wrap
from diagnose.words import say

CELL, PAD = 16.5, 4.0  # width of a cell; between look, answer and cells
LOOK_SHARE = 0.38  # of what the cells leave
RULE = 2.0  # room for the line above a look


@dataclass(frozen=True, slots=True)
class TableLine:
    """One printed line. `begins` a look, with a line above it. Without `cells` they are left empty."""

    look: tuple[Run, ...] = ()
    answer: tuple[Run, ...] = ()
    cells: tuple[str, ...] = ()
    begins: bool = False


@dataclass(frozen=True, slots=True)
class PointsTable:
    """Lines with the widths they were broken for; the first holds the letters, the last two are filled in by hand."""

    lines: tuple[TableLine, ...]
    look: float
    answer: float
    cells: int

    def high(self, leading: float) -> float:
        return len(self.lines) * leading + RULE * sum(line.begins for line in self.lines)


def table_of(sheet: PointsSheet, room: float) -> PointsTable:
    """The table of a sheet in the width of the paper."""
    left = room - CELL * len(sheet.columns)
    widths = (left * LOOK_SHARE, left * (1.0 - LOOK_SHARE))
    letters = tuple(c.letter for c in sheet.columns)
    head = TableLine(((say("card.points_look"), True),), ((say("card.points_answer"), True),), letters, True)
    start = TableLine(((say("card.points_start"), True),), (), _cells(sheet.start), True)
    total = TableLine(((say("card.points_total"), True),), (), tuple("" for _ in letters), True)
    rows = [line for look in sheet.looks for line in _look(look, *widths)]
    room_to_write = TableLine()
    return PointsTable((head, start, *rows, total, room_to_write), *widths, len(letters))


def _look(look: PointsLook, wide: float, answer: float) -> Iterator[TableLine]:
    marks = " ".join(c.mark for c in look.cautions)
    said = [(look.asks, True), (look_needs_says(look), False), (marks, True)]
    left = wrap([run for run in said if run[0]], TYPE, wide - PAD)
    right = [line for a in look.answers for line in _answer(a.says, a.points, answer)]
    for place, (asks, told) in enumerate(zip_longest(left, right)):
        runs, cells = told or ((), ())
        yield TableLine(tuple(asks or ()), runs, cells, not place)


def _answer(says: str, points: Sequence[int], room: float) -> Iterator[tuple[tuple[Run, ...], tuple[str, ...]]]:
    """The cells stand beside the first line."""
    for place, runs in enumerate(wrap([(f"- {says}", False)], TYPE, room - PAD)):
        yield tuple(runs), _cells(points) if not place else ()


def _cells(points: Sequence[int]) -> tuple[str, ...]:
    """What adds nothing is left empty."""
    return tuple(str(p) if p else "" for p in points)


def cell_at(table: PointsTable, place: int, says: str) -> float:
    """Where a cell's text begins, set to the right with half a digit of room, from the table's left edge."""
    return table.look + table.answer + (place + 1) * CELL - 3.5 - width(says, TYPE)
