"""How a table is laid out, found from its first and last lines; what cannot be found is asked, never guessed."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from diagnose.triplog import columns
from diagnose.triplog.cells import LONGEST_LINE, cells, delimiter_of, named_delimiter
from diagnose.triplog.columns import DATE_NAMES, EVENT_NAMES, SENSOR_NAMES, TIME_NAMES, FileQuestion, Where
from diagnose.triplog.records import TripLogError
from diagnose.triplog.stamps import formats_of
from diagnose.triplog.words import Kind
from diagnose.words import say

MOST_COLUMNS = 100
_HEAD, _WIDE, _LONGEST = 60, 20, 40
"""Lines among which the heading is looked for, and the columns and letters that are looked at for times."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand in a row. `date` is the column of the day where it is apart from the time, else -1; `event`,
    `sensor` and `duration` -1 where there is none. `kinds` says what each event word means, `numbers` which columns
    hold readings; `skip` lines come before the heading or, without one, before the first row."""

    delimiter: str
    header: bool
    names: tuple[str, ...]
    time: int
    date: int
    format: str
    event: int = -1
    sensor: int = -1
    kinds: Mapping[str, Kind] = field(default_factory=dict)
    only: Kind = "trip"
    skip: int = 0
    duration: int = -1
    unit_s: float = 1.0
    numbers: Mapping[str, int] = field(default_factory=dict)

    @property
    def above(self) -> int:
        """Lines above the first row."""
        return self.skip + self.header


def find_layout(
    lines: Sequence[str], said: Mapping[str, str], only: Kind | Literal[""] = ""
) -> Layout | FileQuestion:
    """The layout of a log, or the next question about it. `said` holds answers by a question's key; `only` the
    kind of every row of a file that needs no event column. Raises TripLogError when there are no times in it."""
    found, asked = examined(lines, said, only)
    return asked[0] if asked else found


def examined(
    lines: Sequence[str], said: Mapping[str, str], only: Kind | Literal[""] = ""
) -> tuple[Layout, list[FileQuestion]]:
    """The layout as far as it is known, and everything that has to be asked to know it. As `find_layout`."""
    filled = [(n, line) for n, line in enumerate(lines) if line.strip()]
    if not filled:
        raise TripLogError(say("triplog.empty"))
    delimiter = said.get("delimiter") or named_delimiter(filled[0][1])
    if delimiter and named_delimiter(filled[0][1]):
        filled = filled[1:]
    delimiter = delimiter or delimiter_of([line for _, line in filled])
    rows = [(n, row) for n, line in filled if (row := cells(line, delimiter))]
    width = max((len(row) for _, row in rows), default=0)
    if not 0 < width <= MOST_COLUMNS:
        raise TripLogError(say("triplog.no_rows", columns=MOST_COLUMNS, characters=f"{LONGEST_LINE:,}"))
    heading, first = _heading([row for _, row in rows])
    body = [row + [""] * (width - len(row)) for _, row in rows[first:]]
    if not body:
        raise TripLogError(say("triplog.only_heading"))
    names = _names(rows[heading][1] if heading >= 0 else [], width)
    skip = rows[heading if heading >= 0 else first][0]
    return _laid_out(Where(names, body, said, []), delimiter, heading >= 0, skip, only)


def _names(heading: Sequence[str], width: int) -> tuple[str, ...]:
    """A column without a heading has its number."""
    return tuple(heading[n] if n < len(heading) and heading[n] else str(n + 1) for n in range(width))


def _laid_out(
    table: Where, delimiter: str, header: bool, skip: int, only: Kind | Literal[""]
) -> tuple[Layout, list[FileQuestion]]:
    names, body, said = tuple(table.names), table.body, table.said
    time, day, format_ = columns.times_of(table)
    event = -1 if only else columns.event_of(table, {time, day})
    words = Counter(row[event].casefold() for row in body) if event >= 0 else Counter[str]()
    kinds = columns.word_kinds(words, said, table.asked)
    sensor = columns.named(names, SENSOR_NAMES, {time, day, event}, said.get("sensor", ""))
    lasting, unit, numbers = columns.numbers_of(names, body, {time, day, event, sensor})
    found = Layout(
        delimiter,
        header,
        names,
        time,
        day,
        format_,
        event,
        sensor,
        kinds,
        only or "trip",
        skip,
        lasting,
        unit,
        numbers,
    )
    return found, table.asked


def stamp_text(row: Sequence[str], time: int, day: int) -> str:
    """Day and time of a row as one text."""
    return f"{row[day]} {row[time]}" if day >= 0 else row[time]


def _heading(rows: Sequence[Sequence[str]]) -> tuple[int, int]:
    """(row of the heading or -1, first row below it): lines before a heading have fewer cells, and no row below it
    lacks a time where the others have theirs. Among several that could be it, the one with telling names."""
    usual = Counter(map(len, rows)).most_common(1)[0][0]
    head = rows[:_HEAD]
    at = [_times_at(row) for row in head]
    counted = Counter(place for row, places in zip(head, at, strict=True) if len(row) >= usual for place in places)
    most = counted.most_common(1)[0][0] if counted else None
    first = next((i for i, places in enumerate(at) if most in places), len(head))
    fits = [i for i in range(first) if len(head[i]) >= usual]
    if not fits:
        return (-1, first) if first < len(head) else (-1, 0)
    telling = [i for i in fits if _telling(head[i])]
    chosen = (telling or fits)[0]
    return chosen, chosen + 1


def _telling(row: Sequence[str]) -> bool:
    known = {*TIME_NAMES, *DATE_NAMES, *EVENT_NAMES}
    return any(cell.casefold().strip(" _").split("_")[0] in known for cell in row)


def _times_at(row: Sequence[str]) -> set[int]:
    """The cells of a row that read as times, alone or with a day in another cell."""
    short = {i: cell for i, cell in enumerate(row[:_WIDE]) if len(cell) <= _LONGEST and any(map(str.isdigit, cell))}
    alone = {i for i, cell in short.items() if formats_of([cell])}
    if alone:
        return alone
    days = [cell for cell in short.values() if ":" not in cell]
    clocks = {i: cell for i, cell in short.items() if ":" in cell}
    return {i for i, clock in clocks.items() if any(formats_of([f"{day} {clock}"]) for day in days)}
