"""Lines of a log -> columns of numbers, with every row that could not be used counted and kept to show."""

from array import array
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np

from diagnose.triplog.clock import to_utc
from diagnose.triplog.layout import LONGEST_LINE, Layout, cells, stamp_text
from diagnose.triplog.records import Clock, Floats, Ints
from diagnose.triplog.stamps import Stamps
from diagnose.triplog.words import KINDS
from diagnose.words import say

SHOWN = 5
_SHOWN_TEXT = 80
_TOLD_EVERY = 20_000
Progress = Callable[[int], None]


@dataclass(slots=True)
class Bad:
    """Rows that could not be used: how many for each reason, and the first few with their line numbers."""

    counts: Counter[str] = field(default_factory=Counter)
    shown: dict[str, list[tuple[int, str]]] = field(default_factory=dict)

    def add(self, reason: str, number: int, text: str) -> None:
        """One more row."""
        self.counts[reason] += 1
        if len(self.shown.setdefault(reason, [])) < SHOWN:
            self.shown[reason].append((number, text.strip()[:_SHOWN_TEXT]))


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """The usable rows in the order of the file. `ahead` is what each time says of its own clock, else not-a-number.
    `kind` indexes KINDS, `sensor` indexes `sensors`, `number` is the line."""

    clock: Floats
    ahead: Floats
    kind: Ints
    sensor: Ints
    number: Ints
    sensors: tuple[str, ...]
    bad: Bad
    read: int


def read_rows(lines: Iterable[str], layout: Layout, progress: Progress = lambda _: None) -> Rows:
    """Every row of a file. Rows of words to leave out are left out without being bad."""
    taker, reader = _Taker(layout), Stamps(layout.format)
    number = 0
    for number, line in enumerate(lines, start=1):
        if number % _TOLD_EVERY == 0:
            progress(number)
        if (number == 1 and layout.header) or not line.strip():
            continue
        taker.take(number, line, reader)
    return taker.rows()


class _Taker:
    """Collects rows in flat arrays: a million rows need 40 megabytes."""

    def __init__(self, layout: Layout) -> None:
        self.layout, self.bad = layout, Bad()
        self.clock, self.ahead = array("d"), array("d")
        self.kind, self.sensor, self.number = array("b"), array("i"), array("i")
        self.sensors: dict[str, int] = {}
        self.codes = {word: KINDS.index(kind) for word, kind in layout.kinds.items()}
        self.least = max(layout.time, layout.date, layout.event) + 1
        self.read = 0

    def take(self, number: int, line: str, reader: Stamps) -> None:
        layout = self.layout
        self.read += 1
        row = cells(line, layout.delimiter)
        if len(row) < self.least:
            long = len(line) > LONGEST_LINE
            return self.bad.add(_too_long() if long else say("triplog.bad_columns"), number, line[: _SHOWN_TEXT * 2])
        stamp = reader.read(stamp_text(row, layout.time, layout.date))
        if stamp is None:
            return self.bad.add(say("triplog.bad_time"), number, line)
        code: int | None = KINDS.index(layout.only)
        if layout.event >= 0:
            code = self.codes.get(row[layout.event].casefold())
            if code is None:
                return self.bad.add(say("triplog.bad_word"), number, line)
        if KINDS[code or 0] == "ignore":
            return None
        self.clock.append(stamp[0])
        self.ahead.append(np.nan if stamp[1] is None else stamp[1])
        self.kind.append(code or 0)
        self.sensor.append(self._sensor(row))
        self.number.append(number)
        return None

    def _sensor(self, row: list[str]) -> int:
        at = self.layout.sensor
        name = row[at][:40] if 0 <= at < len(row) else ""
        return self.sensors.setdefault(name, len(self.sensors))

    def rows(self) -> Rows:
        kind, sensor, number = (np.array(a, np.int64) for a in (self.kind, self.sensor, self.number))
        names = tuple(self.sensors)
        return Rows(np.array(self.clock), np.array(self.ahead), kind, sensor, number, names, self.bad, self.read)


def _too_long() -> str:
    return say("triplog.bad_long", most=f"{LONGEST_LINE:,}")


def placed(rows: Rows, clock: Clock) -> tuple[Rows, Floats, int]:
    """(rows with a real time, their UTC seconds, how many fell in the hour that comes twice)."""
    told = ~np.isnan(rows.ahead)
    local = to_utc(clock, rows.clock)
    utc = np.where(told, rows.clock - np.nan_to_num(rows.ahead), local.utc)
    never = local.never & ~told
    for number, seconds in zip(rows.number[never], rows.clock[never], strict=True):
        says = say("triplog.bad_skipped", clock=clock.name)
        rows.bad.add(says, int(number), str(np.datetime64(int(seconds), "s")))
    kept = ~never
    left = Rows(
        rows.clock[kept], rows.ahead[kept], rows.kind[kept], rows.sensor[kept], rows.number[kept],
        rows.sensors, rows.bad, rows.read,
    )  # fmt: skip
    return left, np.asarray(utc[kept]), int((local.twice & ~told).sum())
