"""One file of a log read as far as it is known, and what is still to be asked about it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from diagnose.store import triplogs
from diagnose.terminal import triplog as terminal
from diagnose.triplog.columns import EVERY_ROW, FileQuestion, word_kinds
from diagnose.triplog.layout import Layout, examined
from diagnose.triplog.records import Clock, TripLogError, Weather
from diagnose.triplog.rows import Bad, Rows, read_rows
from diagnose.triplog.weather_file import Column, find_columns, read_weather
from diagnose.triplog.words import Kind, kind_of_word
from diagnose.words import say

_OFTEN = 3
"""A word that only the whole file shows is asked about where it stands so often; rarer, its rows are not usable."""
_MOST_WORDS = 40


@dataclass(frozen=True, slots=True)
class ReadFile:
    """One file of events. `only`: what every row is, without an event column; `open`: what it does not say."""

    path: Path
    said: Mapping[str, str]
    only: Kind | None
    layout: Layout
    rows: Rows
    open: tuple[FileQuestion, ...]


def read_file(path: Path, said: Mapping[str, str], only: Kind | None) -> ReadFile:
    """The file by what is `said` of it; what is asked is left out until then. Raises TripLogError."""
    layout, asked = examined(triplogs.sample(path), said, only or "")
    rows = _rows(path, layout)
    if layout.event < 0:
        return ReadFile(path, said, only, layout, rows, tuple(asked))
    found: list[FileQuestion] = []
    kinds = word_kinds(_worth_knowing(rows, layout), said, found)
    open_ = {q.key.removeprefix("word ") for q in found}
    known = {word: kind for word, kind in kinds.items() if word in layout.kinds or word not in open_}
    if known != layout.kinds:
        layout = replace(layout, kinds=known)
        rows = _rows(path, layout)
    return ReadFile(path, said, only, layout, rows, (*(q for q in asked if not q.key.startswith("word ")), *found))


def named_in(path: Path, columns: Mapping[str, str]) -> dict[str, str]:
    """Of columns that are named for another file, those that this one has."""
    if not columns:
        return {}
    names = examined(triplogs.sample(path), {})[0].names
    return {key: name for key, name in columns.items() if name in names or name == EVERY_ROW}


def _rows(path: Path, layout: Layout) -> Rows:
    with terminal.bar(say("triplog.reading", file=path.name)) as done:
        return read_rows(triplogs.lines_of(path, done), layout)


def _worth_knowing(rows: Rows, layout: Layout) -> dict[str, int]:
    """The words of the whole file, how often each; without the spoilt ones that stand there once or twice."""
    seen = {w: rows.seen.get(w, 0) for w in layout.kinds}
    more = {w: n for w, n in rows.seen.items() if w not in seen and (n >= _OFTEN or kind_of_word(w))}
    return seen | dict(sorted(more.items(), key=lambda item: -item[1])[: max(0, _MOST_WORDS - len(seen))])


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """A weather table: its layout, its columns once their units are known, and what it does not say."""

    path: Path
    layout: Layout
    columns: Mapping[str, Column] = field(default_factory=dict)
    open: tuple[FileQuestion, ...] = ()

    def read(self, clock: Clock) -> tuple[Weather, Bad]:
        """Its readings, and the rows that could not be used."""
        return read_weather(triplogs.lines_of(self.path), self.layout, self.columns, clock)


def weather_file(path: Path, said: Mapping[str, str]) -> WeatherFile:
    """The table by what is said of it. Raises TripLogError when there is no weather in it."""
    layout, asked = examined(triplogs.sample(path), {k: v for k, v in said.items() if k == "dates"}, "ignore")
    units = dict(said)
    while isinstance(columns := find_columns(layout.names, units), FileQuestion):
        if columns.key in {q.key for q in asked}:
            raise TripLogError(say("triplog.no_unit", key=columns.key))
        asked.append(columns)
        units[columns.key] = next(iter(columns.options))
    return WeatherFile(path, layout, columns, tuple(asked))
