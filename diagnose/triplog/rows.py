"""Lines of a log -> columns of numbers, with every row that could not be used counted and kept to show."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

import numpy as np

from diagnose.triplog.cells import LONGEST_LINE, all_cells
from diagnose.triplog.clock import to_utc
from diagnose.triplog.columns import number
from diagnose.triplog.layout import Layout, stamp_text
from diagnose.triplog.records import Bools, Clock, Floats, Ints
from diagnose.triplog.stamp_block import read_block
from diagnose.triplog.stamps import Stamps
from diagnose.triplog.words import KINDS
from diagnose.words import say

SHOWN = 5
_SHOWN_TEXT = 80
_BLOCK = 20_000
_LONGEST_NAME = 40
_INTS = ("kind", "sensor", "number", "word")
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


def _none() -> Floats:
    return np.zeros(0)


def _nothing() -> Ints:
    return np.zeros(0, np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """The usable rows in the order of the file. `ahead` is what each time says of its own clock, else not-a-number.
    `kind` indexes KINDS, `sensor` indexes `sensors`, `word` indexes `words`, `number` is the line. `seen` counts
    every event word of the file, used or not; `cut`: the last row broke off."""

    clock: Floats
    ahead: Floats
    kind: Ints
    sensor: Ints
    number: Ints
    sensors: tuple[str, ...]
    bad: Bad
    read: int
    word: Ints = field(default_factory=_nothing)
    words: tuple[str, ...] = ()
    duration: Floats = field(default_factory=_none)
    values: dict[str, Floats] = field(default_factory=dict)
    seen: Counter[str] = field(default_factory=Counter)
    cut: bool = False

    def kept(self, which: Bools) -> "Rows":
        """Some of the rows."""
        arrays = {name: getattr(self, name) for name in ("clock", "ahead", "kind", "sensor", "number")}
        more = {name: getattr(self, name) for name in ("word", "duration") if len(getattr(self, name)) == len(which)}
        values = {name: column[which] for name, column in self.values.items()}
        return replace(self, values=values, **{name: a[which] for name, a in {**arrays, **more}.items()})


def read_rows(lines: Iterable[str], layout: Layout, progress: Progress = lambda _: None) -> Rows:
    """Every row of a file. Rows of words to leave out are kept as such: they show that the log was on."""
    taker, done = _Taker(layout), 0
    for block in _blocks(lines):
        taker.take(done + 1, block)
        done += len(block)
        progress(done)
    return taker.rows()


def _blocks(lines: Iterable[str]) -> Iterator[list[str]]:
    left = iter(lines)
    while block := list(islice(left, _BLOCK)):
        yield block


class _Names(dict[str, int]):
    """Numbers texts as they come; what differs in nothing but white space and, with `plain`, in capitals is one."""

    def __init__(self, plain: bool) -> None:
        super().__init__()
        self.plain, self.order = plain, dict[str, int]()

    def __missing__(self, text: str) -> int:
        tidy = text.strip().casefold() if self.plain else text.strip()[:_LONGEST_NAME]
        self[text] = self.order.setdefault(tidy, len(self.order))
        return self[text]


class _Values(dict[str, float]):
    """Each text of a number is read once."""

    def __missing__(self, text: str) -> float:
        value = number(text)
        self[text] = np.nan if value is None else value
        return self[text]


class _Taker:
    """Collects a block of rows at a time in flat arrays: a million rows need 60 megabytes."""

    def __init__(self, layout: Layout) -> None:
        self.layout, self.bad, self.reader = layout, Bad(), Stamps(layout.format)
        self.sensors, self.words, self.values = _Names(False), _Names(True), _Values()
        self.least = max(layout.time, layout.date, layout.event) + 1
        self.floats, self.ints = list[dict[str, Floats]](), list[dict[str, Ints]]()
        self.read, self.seen, self.usual, self.cut = 0, Counter[str](), Counter[int](), False
        self.ended = False  # whether lines end as whole lines do

    def take(self, first: int, block: Sequence[str]) -> None:
        skipped = max(0, self.layout.above - first + 1)
        numbers = [n for n, line in enumerate(block[skipped:], first + skipped) if line and not line.isspace()]
        lines = [block[n - first] for n in numbers] if len(numbers) < len(block) else list(block)
        self.read += len(lines)
        rows = all_cells(lines, self.layout.delimiter)
        lines, rows, numbers = self._whole(lines, rows, numbers, block)
        good = self._wide_enough(lines, rows, numbers)
        if not good:
            return
        if len(good) < len(rows):
            lines, rows, numbers = [lines[i] for i in good], [rows[i] for i in good], [numbers[i] for i in good]
        self._keep(lines, rows, np.array(numbers, np.int64))

    def _whole(
        self, lines: list[str], rows: list[list[str]], numbers: list[int], block: Sequence[str]
    ) -> tuple[list[str], list[list[str]], list[int]]:
        """Without a last row that broke off: no line end where all others have one, and a cell or a letter short."""
        self.usual.update(map(len, rows))
        self.ended = self.ended or block[0].endswith("\n")
        if not (rows and self.ended and not block[-1].endswith("\n") and self._broken(rows[-1])):
            return lines, rows, numbers
        self.cut = True
        self.bad.add(say("triplog.bad_cut"), numbers[-1], lines[-1])
        return lines[:-1], rows[:-1], numbers[:-1]

    def _broken(self, row: list[str]) -> bool:
        layout = self.layout
        if len(row) < max(self.least, self.usual.most_common(1)[0][0]):
            return True
        time = self.reader.read(stamp_text([c.strip() for c in row], layout.time, layout.date))
        return time is None or (layout.event >= 0 and row[layout.event].strip().casefold() not in layout.kinds)

    def _wide_enough(self, lines: list[str], rows: list[list[str]], numbers: list[int]) -> list[int]:
        if not rows or min(map(len, rows)) >= self.least:
            return list(range(len(rows)))
        good = [i for i, row in enumerate(rows) if len(row) >= self.least]
        for i in set(range(len(rows))) - set(good):
            long = len(lines[i]) > LONGEST_LINE
            why = say("triplog.bad_long", most=f"{LONGEST_LINE:,}") if long else say("triplog.bad_columns")
            self.bad.add(why, numbers[i], lines[i][: _SHOWN_TEXT * 2])
        return good

    def _keep(self, lines: list[str], rows: list[list[str]], numbers: Ints) -> None:
        layout = self.layout
        if layout.date >= 0:
            texts = [f"{row[layout.date].strip()} {row[layout.time].strip()}" for row in rows]
        else:
            texts = [row[layout.time].strip() for row in rows]
        clock, ahead = read_block(self.reader, texts)
        kind, word = self._kinds(rows)
        timeless = np.isnan(clock)
        for reason, which in ((say("triplog.bad_time"), timeless), (say("triplog.bad_word"), ~timeless & (kind < 0))):
            for i in np.flatnonzero(which).tolist():
                self.bad.add(reason, int(numbers[i]), lines[i])
        good = ~timeless & (kind >= 0)
        floats = {"clock": clock, "ahead": ahead}
        if layout.duration >= 0:
            floats["duration"] = self._read(rows, layout.duration) * layout.unit_s
        floats |= {f"={name}": self._read(rows, at) for name, at in layout.numbers.items()}
        ints = {"kind": kind, "sensor": self._sensors(rows), "number": numbers, "word": word}
        self.floats.append({name: column[good] for name, column in floats.items()})
        self.ints.append({name: column[good] for name, column in ints.items()})

    def _kinds(self, rows: list[list[str]]) -> tuple[Ints, Ints]:
        """What each row is, -1 for a word that is not known, and which word says it."""
        layout, at = self.layout, self.layout.event
        if at < 0:
            return np.full(len(rows), KINDS.index(layout.only)), np.zeros(len(rows), np.int64)
        word = np.array([self.words[row[at]] for row in rows], np.int64)
        known = list(self.words.order)
        self.seen.update(dict(zip(known, np.bincount(word, minlength=len(known)).tolist(), strict=True)))
        codes = np.array([KINDS.index(layout.kinds[w]) if w in layout.kinds else -1 for w in known], np.int64)
        return codes[word], word

    def _sensors(self, rows: list[list[str]]) -> Ints:
        at = self.layout.sensor
        if at < 0:
            return np.full(len(rows), self.sensors[""], np.int64)
        return np.array([self.sensors[row[at] if at < len(row) else ""] for row in rows], np.int64)

    def _read(self, rows: list[list[str]], at: int) -> Floats:
        return np.array([self.values[row[at] if at < len(row) else ""] for row in rows], np.float64)

    def rows(self) -> Rows:
        first = self.floats[0] if self.floats else ("clock", "ahead")
        floats = {name: np.concatenate([_none(), *(part[name] for part in self.floats)]) for name in first}
        ints = {n: np.concatenate([_nothing(), *(part[n] for part in self.ints)]) for n in _INTS}
        seen = Counter({word: times for word, times in self.seen.items() if times})
        return Rows(
            floats["clock"], floats["ahead"], ints["kind"], ints["sensor"], ints["number"],
            tuple(self.sensors.order), self.bad, self.read, ints["word"], tuple(self.words.order),
            floats.get("duration", _none()), {n[1:]: c for n, c in floats.items() if n.startswith("=")}, seen,
            self.cut,
        )  # fmt: skip


def placed(rows: Rows, clock: Clock) -> tuple[Rows, Floats, int]:
    """(rows with a real time, their UTC seconds, how many fell in the hour that comes twice)."""
    told = ~np.isnan(rows.ahead)
    local = to_utc(clock, rows.clock)
    utc = np.where(told, rows.clock - np.nan_to_num(rows.ahead), local.utc)
    never = local.never & ~told
    for at, seconds in zip(rows.number[never], rows.clock[never], strict=True):
        says = say("triplog.bad_skipped", clock=clock.name)
        rows.bad.add(says, int(at), str(np.datetime64(int(seconds), "s")))
    return rows.kept(~never), np.asarray(utc[~never]), int((local.twice & ~told).sum())
