"""Plain tables for spreadsheets, in which no text that somebody typed can become a formula."""

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.present.clean import clean

Cell = str | int | float | None
FORMULA = ("=", "+", "-", "@")  # what a spreadsheet takes for the beginning of one


@dataclass(frozen=True, slots=True)
class Listing:
    """`columns` are names for programs, which no language changes; None is an empty cell."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def records(self) -> list[dict[str, Cell]]:
        """The rows as objects."""
        return [dict(zip(self.columns, row, strict=True)) for row in self.rows]


def csv_text(table: Listing) -> str:
    """Comma separated, a heading first, every line ended as RFC 4180 has it."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(table.columns)
    writer.writerows(_row(row) for row in table.rows)
    return out.getvalue()


def _row(row: Sequence[Cell]) -> Iterable[Cell]:
    return [safe(cell) if isinstance(cell, str) else cell for cell in row]


def safe(text: str) -> str:
    """One line that is text wherever it is opened; full-width forms of the signs count as the signs."""
    line = clean(text)
    return f"'{line}" if unicodedata.normalize("NFKC", line).startswith(FORMULA) else line
