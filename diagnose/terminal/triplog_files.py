"""The files of one trip log -> the log; what they do not say is asked, and what was understood is kept to show."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from diagnose.store import triplogs
from diagnose.terminal import triplog as terminal
from diagnose.terminal.ask import Asker
from diagnose.triplog.assemble import Part, assemble
from diagnose.triplog.clock import newest_first
from diagnose.triplog.layout import FileQuestion, Layout, find_layout
from diagnose.triplog.records import Clock, Floats, Log, Place, TripLogError, Weather
from diagnose.triplog.rows import Bad, Rows, placed, read_rows
from diagnose.triplog.stamps import format_says
from diagnose.triplog.weather_file import find_columns, read_weather
from diagnose.triplog.words import KINDS, Kind
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class LogFiles:
    """The files of one log, and what is said of them beforehand: answers to questions, by `Question.key`.

    `file` has an event column unless every row is a trip; every row of `moves` is a movement, of `passes` a
    vehicle. `words` hold for all three, `columns` for `file` alone, `units` for `weather`, `dates` for every file.
    """

    file: Path
    moves: Path | None = None
    passes: Path | None = None
    weather: Path | None = None
    zone: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    columns: Mapping[str, str] = field(default_factory=dict)
    dates: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    place: Place | None = None


@dataclass(slots=True)
class Understood:
    """What was understood of the files, to be shown."""

    lines: list[str] = field(default_factory=list)
    bad: list[tuple[str, Bad]] = field(default_factory=list)


def load(files: LogFiles, asker: Asker | None) -> tuple[Log, Understood]:
    """The log of all files together, and what was understood. Raises TripLogError, Leave, GoBack."""
    told, said = Understood(), {**files.dates, **files.words}
    logs: list[tuple[Path, Mapping[str, str], Kind | None]] = [(files.file, {**said, **files.columns}, None)]
    others: list[tuple[Path | None, Kind]] = [(files.moves, "move"), (files.passes, "pass")]
    logs += [(path, said, kind) for path, kind in others if path]
    read_in = [(path, *_rows(path, words, kind, asker, told)) for path, words, kind in logs]
    clock = _clock(files.zone, [rows for _, _, rows in read_in], asker, told)
    parts = [_placed(path, rows, clock, told) for path, _, rows in read_in]
    weather = _weather(files.weather, files, clock, asker, told) if files.weather else None
    log = assemble(parts, clock, weather, files.place)
    told.lines += _about(log)
    return log, told


def _answered(path: Path, question: FileQuestion, asker: Asker | None) -> str:
    if asker is None:
        known = "; ".join(f"{key}: {text}" for key, text in question.options.items())
        raise TripLogError(
            say("triplog.say_it_with", file=path.name, asks=question.asks, option=question.option, known=known)
        )
    asker.screen.line(f"{path.name}: {question.asks}")
    return asker.choose(question.options, say("triplog.not_in_file"))


def _found_layout(path: Path, said: Mapping[str, str], only: Kind | None, asker: Asker | None) -> Layout:
    lines, known = triplogs.sample(path), dict(said)
    while isinstance(found := find_layout(lines, known, only or ""), FileQuestion):
        known[found.key] = _answered(path, found, asker)
    return found


def _rows(
    path: Path, said: Mapping[str, str], only: Kind | None, asker: Asker | None, told: Understood
) -> tuple[Layout, Rows]:
    layout = _found_layout(path, said, only, asker)
    with terminal.bar(say("triplog.reading", file=path.name)) as done:
        rows = read_rows(triplogs.lines_of(path, done), layout)
    column, written = layout.names[layout.time], format_says(layout.format)
    told.lines.append(say("triplog.rows", file=path.name, rows=rows.read, column=column, written=written))
    if layout.event < 0:
        told.lines.append(say("triplog.every_row", file=path.name, kind=say(f"triplog.kind_{only or 'trip'}")))
    by_kind = {k: [w for w, means in layout.kinds.items() if means == k] for k in KINDS}
    told.lines += [
        say("triplog.words_of", kind=say(f"triplog.kind_{k}"), words=", ".join(repr(w) for w in words))
        for k, words in by_kind.items()
        if words
    ]
    told.bad.append((path.name, rows.bad))
    return layout, rows


def _clock(zone: str, files: list[Rows], asker: Asker | None, told: Understood) -> Clock:
    """From the option, else from the one offset that all times carry, else asked."""
    local = np.concatenate([rows.clock for rows in files])
    ahead = np.concatenate([rows.ahead for rows in files])
    if not len(local):
        raise TripLogError(say("triplog.no_row_with_time"))
    carried = np.unique(ahead)
    why = say("triplog.as_told")
    if not zone and len(carried) == 1 and carried[0] not in (0.0,) and not np.isnan(carried[0]):
        minutes = int(abs(carried[0]) // 60)
        zone = f"{'-' if carried[0] < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"
        why = say("triplog.as_times_say")
    if not zone:
        zone = _asked_zone(asker, bool(np.isnan(ahead).any()))
    clock = triplogs.clock_of(zone, float(local.min()), float(local.max()))
    told.lines.append(say("triplog.clock", name=clock.name, why=why))
    if changes := len(clock.since) - 1:
        told.lines.append(say("triplog.clock_changes", n=changes))
    return clock


def _asked_zone(asker: Asker | None, bare: bool) -> str:
    which = say("triplog.ask_zone") if bare else say("triplog.ask_local_zone")
    if asker is None:
        raise TripLogError(say("triplog.zone_option", asks=which))
    asker.screen.line(say("triplog.zone_help", asks=which))
    return asker.line()


def _placed(path: Path, rows: Rows, clock: Clock, told: Understood) -> Part:
    kept, utc, twice = placed(rows, clock)
    if twice:
        told.lines.append(say("triplog.twice", file=path.name, n=twice))
    if newest_first(utc):
        told.lines.append(say("triplog.newest_first", file=path.name))
    back = int((np.diff(utc) < 0).sum())
    if back and not newest_first(utc):
        told.lines.append(say("triplog.sorted", file=path.name, n=back))
    return kept, utc


def _weather(path: Path, files: LogFiles, clock: Clock, asker: Asker | None, told: Understood) -> Weather:
    said, layout = dict(files.units), _found_layout(path, files.dates, "ignore", asker)
    while isinstance(columns := find_columns(layout.names, said), FileQuestion):
        said[columns.key] = _answered(path, columns, asker)
    weather, bad = read_weather(triplogs.lines_of(path), layout, columns, clock)
    what = ", ".join(say(f"triplog.reading_{name}", unit=column.unit) for name, column in columns.items())
    told.lines.append(say("triplog.weather", file=path.name, readings=len(weather.times), what=what))
    told.bad.append((path.name, bad))
    return weather


def _about(log: Log) -> list[str]:
    ends = [str(np.datetime64(int(t), "m")) for t in log.clock.local(np.array([log.begin, log.end])) // 60]
    every: Floats = np.sort(np.concatenate([log.trips, log.moves, log.passes]))
    silent = float(np.diff(every).max()) / 3600 if len(every) > 1 else 0.0
    return [
        say(
            "triplog.about",
            trips=len(log.trips),
            moves=len(log.moves),
            passes=len(log.passes),
            first=ends[0],
            last=ends[1],
            silence=f"{silent:.1f}",
        )
    ]
