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
from diagnose.triplog.layout import Layout, Question, find_layout
from diagnose.triplog.records import Clock, Floats, Log, Place, TripLogError, Weather
from diagnose.triplog.rows import Bad, Rows, placed, read_rows
from diagnose.triplog.stamps import FORMATS
from diagnose.triplog.weather_file import find_columns, read_weather
from diagnose.triplog.words import KINDS, Kind


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
class Told:
    """What was understood of the files, to be shown."""

    lines: list[str] = field(default_factory=list)
    bad: list[tuple[str, Bad]] = field(default_factory=list)


def load(files: LogFiles, asker: Asker | None) -> tuple[Log, Told]:
    """The log of all files together, and what was understood. Raises TripLogError, Leave, GoBack."""
    told, said = Told(), {**files.dates, **files.words}
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


def _answered(path: Path, question: Question, asker: Asker | None) -> str:
    if asker is None:
        known = "; ".join(f"{key}: {text}" for key, text in question.options.items())
        raise TripLogError(f"{path.name}: {question.asks} Say it with {question.option} ({known})")
    asker.screen.line(f"{path.name}: {question.asks}")
    return asker.choose(question.options, "The file itself does not say it.")


def _found_layout(path: Path, said: Mapping[str, str], only: Kind | None, asker: Asker | None) -> Layout:
    lines, known = triplogs.sample(path), dict(said)
    while isinstance(found := find_layout(lines, known, only or ""), Question):
        known[found.key] = _answered(path, found, asker)
    return found


def _rows(
    path: Path, said: Mapping[str, str], only: Kind | None, asker: Asker | None, told: Told
) -> tuple[Layout, Rows]:
    layout = _found_layout(path, said, only, asker)
    with terminal.bar(f"reading {path.name}") as done:
        rows = read_rows(triplogs.lines_of(path, done), layout)
    column = layout.names[layout.time] if layout.header else f"column {layout.time + 1}"
    told.lines.append(f"{path.name}: {rows.read} rows; times in {column!r}, written {FORMATS[layout.format]}")
    if layout.event < 0:
        told.lines.append(f"every row of {path.name} is taken as {'a trip' if only is None else f'a {only}'}")
    by_kind = {k: [w for w, means in layout.kinds.items() if means == k] for k in KINDS}
    told.lines += [f"{k}: {', '.join(repr(w) for w in words)}" for k, words in by_kind.items() if words]
    told.bad.append((path.name, rows.bad))
    return layout, rows


def _clock(zone: str, files: list[Rows], asker: Asker | None, told: Told) -> Clock:
    """From the option, else from the one offset that all times carry, else asked."""
    local = np.concatenate([rows.clock for rows in files])
    ahead = np.concatenate([rows.ahead for rows in files])
    if not len(local):
        raise TripLogError("no row with a time that can be read")
    carried = np.unique(ahead)
    why = "as told"
    if not zone and len(carried) == 1 and carried[0] not in (0.0,) and not np.isnan(carried[0]):
        minutes = int(abs(carried[0]) // 60)
        zone, why = f"{'-' if carried[0] < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}", "as every time says"
    if not zone:
        zone = _asked_zone(asker, bool(np.isnan(ahead).any()))
    clock = triplogs.clock_of(zone, float(local.min()), float(local.max()))
    changes = "" if len(clock.since) == 1 else f"; changes to or from summer time in the log: {len(clock.since) - 1}"
    told.lines.append(f"clock: {clock.name} ({why}){changes}")
    return clock


def _asked_zone(asker: Asker | None, bare: bool) -> str:
    which = "In which time zone does the clock run that wrote the times?" if bare else "Times are in UTC. Local zone?"
    if asker is None:
        raise TripLogError(f"{which} Say it with --zone (+01:00, UTC, or a tz database name)")
    asker.screen.line(f"{which} As +01:00, UTC, or a tz database name; a name knows summer time.")
    return asker.line()


def _placed(path: Path, rows: Rows, clock: Clock, told: Told) -> Part:
    kept, utc, twice = placed(rows, clock)
    if twice:
        told.lines.append(f"{path.name}: {twice} times in the hour that comes twice; the order of rows decided")
    if newest_first(utc):
        told.lines.append(f"{path.name}: newest row first")
    back = int((np.diff(utc) < 0).sum())
    if back and not newest_first(utc):
        told.lines.append(f"{path.name}: {back} rows are earlier than the row before; sorted")
    return kept, utc


def _weather(path: Path, files: LogFiles, clock: Clock, asker: Asker | None, told: Told) -> Weather:
    said, layout = dict(files.units), _found_layout(path, files.dates, "ignore", asker)
    while isinstance(columns := find_columns(layout.names, said), Question):
        said[columns.key] = _answered(path, columns, asker)
    weather, bad = read_weather(triplogs.lines_of(path), layout, columns, clock)
    what = ", ".join(f"{name} in {column.unit}" for name, column in columns.items())
    told.lines.append(f"{path.name}: {len(weather.times)} readings; {what}; on the same clock as the log")
    told.bad.append((path.name, bad))
    return weather


def _about(log: Log) -> list[str]:
    counted = f"{len(log.trips)} trips, {len(log.moves)} movements, {len(log.passes)} vehicles"
    ends = [str(np.datetime64(int(t), "m")) for t in log.clock.local(np.array([log.begin, log.end])) // 60]
    every: Floats = np.sort(np.concatenate([log.trips, log.moves, log.passes]))
    silent = float(np.diff(every).max()) / 3600 if len(every) > 1 else 0.0
    return [f"{counted}, from {ends[0]} to {ends[1]}; longest silence {silent:.1f} h, taken as logged all through"]
