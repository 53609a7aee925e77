"""Lines -> cells, one by one or many at a time; a stray quote harms no other line."""

import csv
from collections import Counter
from collections.abc import Sequence

LONGEST_LINE = 20_000  # characters
UNIT = "\x1f"
"""Between the cells of a row that was never text: a spreadsheet's, a JSON object's. No device writes it."""
DELIMITERS = (UNIT, ",", ";", "\t", "|")


def cells(line: str, delimiter: str) -> list[str]:
    """The cells of one line. A line too long for a row has none."""
    if len(line) > LONGEST_LINE:
        return []
    if '"' not in line or delimiter == UNIT:
        return [c.strip() for c in line.split(delimiter)]
    return [c.strip() for c in next(csv.reader([line.replace("\0", " ")], delimiter=delimiter), [])]


def all_cells(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    """The cells of many lines, with white space left around them: what is used of them is stripped later."""
    if max(map(len, lines), default=0) > LONGEST_LINE:
        return [cells(line, delimiter) for line in lines]
    if delimiter == UNIT or '"' not in "".join(lines):
        return [line.split(delimiter) for line in lines]
    if all(line.count('"') % 2 == 0 for line in lines):
        rows = list(csv.reader([line.replace("\0", " ") for line in lines], delimiter=delimiter))
        if len(rows) == len(lines):
            return rows
    return [cells(line, delimiter) for line in lines]


def delimiter_of(lines: Sequence[str]) -> str:
    """The sign that splits most lines into the same number of columns, more columns winning."""
    best, found = (0.0, 0), ","
    for sign in DELIMITERS:
        wide, lines_so = Counter(len(cells(line, sign)) for line in lines).most_common(1)[0]
        if wide > 1 and (lines_so / len(lines), wide) > best:
            best, found = (lines_so / len(lines), wide), sign
    return found


def named_delimiter(line: str) -> str:
    """The sign that a first line names as spreadsheets do, 'sep=;', or ''."""
    text = line.strip().strip('"').casefold()
    return line.strip().strip('"')[4:5] if text.startswith("sep=") and len(text) == 5 else ""
