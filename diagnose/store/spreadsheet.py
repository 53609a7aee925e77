"""Rows of a spreadsheet as text. The reader for .xlsx is an extra."""

from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from diagnose.triplog.records import TripLogError
from diagnose.words import say

MOST_ROWS = 1_048_576
_OPEN_DOCUMENT = "mimetype"


def sheet_rows(path: Path) -> Iterator[list[str]]:
    """Every row of the first sheet that has any. Raises TripLogError for no such file, or without the extra."""
    _is_workbook(path)
    try:
        from openpyxl import load_workbook
    except ImportError as error:
        raise TripLogError(say("store.no_sheet_reader", name=path.name)) from error
    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except Exception as error:  # whatever a broken workbook makes of the reader
        raise TripLogError(say("store.log_broken_sheet", name=path.name)) from error
    try:
        for sheet in book.worksheets:
            rows = [row for row in _rows(sheet) if any(row)]
            if len(rows) > 1:
                yield from rows
                return
    finally:
        book.close()
    raise TripLogError(say("store.log_empty_sheet", name=path.name))


def _is_workbook(path: Path) -> None:
    try:
        with ZipFile(path) as packed:
            names = packed.namelist()
    except (BadZipFile, OSError) as error:
        raise TripLogError(say("store.log_broken_sheet", name=path.name)) from error
    if "[Content_Types].xml" in names and any(name.startswith("xl/") for name in names):
        return
    says = "store.log_is_other_sheet" if _OPEN_DOCUMENT in names else "store.log_is_packed"
    raise TripLogError(say(says, name=path.name))


def _rows(sheet: Any) -> Iterator[list[str]]:
    for row in sheet.iter_rows(max_row=MOST_ROWS):
        yield [_text(cell.value, str(getattr(cell, "number_format", "") or "")) for cell in row]


def _text(value: object, format_: str) -> str:
    """A cell as its own software would write it; days and times in the one order that is never open."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat() if "h" not in format_.casefold() else value.isoformat(" ")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value)
