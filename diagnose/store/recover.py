"""The bytes of a visit file -> every entry with a valid seal, wherever it stands, and what is wrong with the rest.

Nothing is ever changed here. An entry is used once, in the place of its number; a number that no line has is missing.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Generic

from diagnose.errors import VisitError
from diagnose.session.events import Event
from diagnose.store.limits import require_bounded
from diagnose.store.sealed import (
    MARK,
    UNREADABLE,
    VISIT,
    E,
    LineKind,
    NewerVisit,
    SealedLine,
    Up,
    opening_of,
    read_line,
    read_piece,
)
from diagnose.words import say

MOST_NAMED = 6  # places that are named; of more it is only said that there are more


@dataclass(frozen=True)
class RecoveredFile(Generic[E]):
    """The events that could be read, when each came, and what is wrong or missing ('' when nothing is).

    `lines` are the same events as they are written, without their ends, `last` the highest number among them, and
    `ups` what the clock said that nobody can set. `broken`: the file itself has to be written anew before anything
    is added. `kept`: where the file is kept as it was, once that was done. `cut`: something stood
    after the last event.
    """

    events: tuple[E, ...]
    times: tuple[str, ...]
    damage: str
    lines: tuple[bytes, ...] = field(default=(), compare=False, repr=False)
    last: int = field(default=0, compare=False)
    ups: tuple[Up | None, ...] = field(default=(), compare=False, repr=False)
    broken: bool = field(default=False, compare=False)
    kept: str = field(default="", compare=False)
    cut: bool = field(default=False, compare=False)

    def says(self, name: str) -> str:
        """The one wording of what is wrong with the file of this name; '' when nothing is."""
        if not self.damage:
            return ""
        if not self.events:
            return say("store.nothing_whole", name=name, damage=self.damage)
        told = say("store.trouble", name=name, damage=self.damage)
        if self.kept:
            return f"{told} {say('store.kept_beside', copy=self.kept)}"
        return f"{told} {say('store.not_mended')}" if self.broken else told


Recovered = RecoveredFile[Event]


@dataclass(slots=True)
class _Found(Generic[E]):
    """What is in the file, gathered line by line; places are the numbers of lines as an editor counts them."""

    entries: dict[int, SealedLine[E]] = field(default_factory=dict)
    highest: int = 0
    bad: list[int] = field(default_factory=list)
    cut: bool = False
    why: str = ""
    twice: list[int] = field(default_factory=list)
    other: list[int] = field(default_factory=list)
    moved: list[int] = field(default_factory=list)

    def take(self, place: int, line: SealedLine[E]) -> None:
        """The first line of a number counts: a later one cannot put itself in its place."""
        before = self.entries.setdefault(line.number, line)
        if before is not line:
            (self.twice if before.text == line.text else self.other).append(place)
        elif line.number < self.highest:
            self.moved.append(place)
        self.highest = max(self.highest, line.number)

    def spoilt(self, place: int, why: str) -> None:
        self.bad.append(place)
        self.why = self.why or why

    @property
    def broken(self) -> bool:
        return bool(self.bad or self.twice or self.other or self.moved)


def recovered(data: bytes) -> Recovered:
    """Everything in the file that can be used. Raises NewerVisit, and VisitError where it holds more than may be."""
    found = recovered_lines(data, VISIT)
    require_bounded(found.events, found.last)
    return found


def recovered_lines(data: bytes, kind: LineKind[E]) -> RecoveredFile[E]:
    """The same of a file of any kind, however much it holds. Raises NewerVisit."""
    found = _gathered(data, kind)
    restored = _with_opening(found.entries, kind)
    broken = found.broken or restored is not found.entries
    lines = [restored[number] for number in sorted(restored)]
    last = lines[-1].number if lines else 0
    return RecoveredFile(
        tuple(line.event for line in lines),
        tuple(line.at for line in lines),
        "; ".join(_says(found, lines, broken)),
        tuple(line.text for line in lines),
        last,
        tuple(line.up for line in lines),
        broken,
        cut=found.cut,
    )


def _gathered(data: bytes, kind: LineKind[E]) -> _Found[E]:
    found, texts = _Found[E](), data.split(b"\n")
    half = texts[-1] != b""
    if not half:
        texts.pop()
    for place, text in enumerate(texts, start=1):
        try:
            found.take(place, read_line(text, kind))
        except NewerVisit:
            raise
        except UNREADABLE as error:
            cut = half and place == len(texts)
            found.spoilt(place, say("store.half_written") if cut else _why(error))
            pieces = list(_pieces(text, kind))
            for line in pieces:
                found.take(place, line)
            found.cut = place == len(texts) and not pieces
    return found


def _why(error: Exception) -> str:
    return str(error)[:120] if isinstance(error, VisitError) else say("store.no_line")


def _pieces(text: bytes, kind: LineKind[E]) -> Iterator[SealedLine[E]]:
    """Whole lines that ran together, or stand between rubbish. Each byte is looked at once."""
    for part in text.split(MARK)[1:]:
        try:
            yield read_piece(MARK + part, kind)
        except NewerVisit:
            raise
        except UNREADABLE:
            continue


def _with_opening(entries: dict[int, SealedLine[E]], kind: LineKind[E]) -> dict[int, SealedLine[E]]:
    """With the first line from one that repeats it, where it is lost."""
    if 1 in entries or not entries:
        return entries
    repeated = (opening_of(entries[number], kind) for number in sorted(entries))
    first = next((line for line in repeated if line), None)
    return {1: first, **entries} if first else entries


def _says(found: _Found[E], lines: list[SealedLine[E]], broken: bool) -> Iterator[str]:
    if found.bad:
        yield say("store.lines_bad", n=len(found.bad), lines=_named(_runs(found.bad)), why=found.why)
    for key, places in (("twice", found.twice), ("other", found.other), ("moved", found.moved)):
        if places:
            yield say(f"store.lines_{key}", n=len(places), lines=_named(_runs(places)))
    if lines and lines[0].number == 1 and 1 not in found.entries:
        yield say("store.opening_restored")
    gaps = list(_gaps(line.number for line in lines))
    if gaps:
        yield say("store.entries_missing", n=sum(b - a + 1 for a, b in gaps), numbers=_named(gaps))
    if lines and (broken or gaps):
        yield say("store.entries_used", n=len(lines))


def _gaps(numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
    before = 0
    for number in numbers:
        if number > before + 1:
            yield before + 1, number - 1
        before = number


def _runs(places: list[int]) -> list[tuple[int, int]]:
    """1, 2, 3, 7 -> (1, 3), (7, 7)"""
    runs: list[tuple[int, int]] = []
    for place in sorted(set(places)):
        if runs and runs[-1][1] == place - 1:
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    return runs


def _named(runs: list[tuple[int, int]]) -> str:
    named = [str(a) if a == b else say("store.from_to", first=a, last=b) for a, b in runs[:MOST_NAMED]]
    return ", ".join([*named, *(["..."] if len(runs) > MOST_NAMED else [])])
