"""The files of one trip log -> the log; what they do not say is asked, and what was understood is kept to show."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from diagnose.store import triplogs
from diagnose.store.log_text import head_of, spoken_of
from diagnose.terminal.ask import Asker
from diagnose.terminal.triplog_form import FormLine, filled
from diagnose.terminal.triplog_reading import ReadFile, WeatherFile, read_file, weather_file
from diagnose.triplog.assemble import Bounds, Part, assemble
from diagnose.triplog.clock import newest_first, to_utc
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.records import Clock, Log, Place, TripLogError, Weather
from diagnose.triplog.rows import Bad, Rows, placed
from diagnose.triplog.stamps import format_says
from diagnose.triplog.words import KINDS, Kind
from diagnose.words import say

ZONE = "zone"
_SCREENS = 5
LAID_OUT_BY = ("time", "event")
"""Which column is which is asked before all else: only then are the words known that must be asked about."""


@dataclass(frozen=True, slots=True)
class LogFiles:
    """The files of one log, and what is said of them beforehand: answers to questions, by `Question.key`.

    `file` has an event column unless every row is a trip; every row of `moves` is a movement, of `passes` a
    vehicle. `words` hold for all three, `columns` for `file` alone, `units` for `weather`, `dates` for every file.
    What was `remembered` of the site holds where nothing else is said. `begin`, `end` and the stretches `out` bound
    the log, in seconds on its own clock; reasons in `keep` set nothing aside.
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
    remembered: Mapping[str, str] = field(default_factory=dict)
    begin: float = -np.inf
    end: float = np.inf
    out: Sequence[tuple[float, float]] = ()
    keep: Collection[str] = ()


@dataclass(slots=True)
class Understood:
    """What was understood of the files, to be shown, and what was answered about them."""

    lines: list[str] = field(default_factory=list)
    bad: list[tuple[str, Bad]] = field(default_factory=list)
    answers: dict[str, str] = field(default_factory=dict)
    asked: bool = False


def load(files: LogFiles, asker: Asker | None) -> tuple[Log, Understood]:
    """The log of all files together, and what was understood. Raises TripLogError, Leave, GoBack."""
    told = Understood(answers=dict(files.words))
    read, weather, zone = _asked(files, asker, told)
    for file in read:
        _tell(file, told)
    clock = _clock(zone or _carried(read), read, told, bool(zone))
    parts = [_placed(file.path, file.rows, clock, told) for file in read]
    readings = _readings(weather, clock, told) if weather else None
    log = assemble(parts, clock, readings, files.place, _bounds(files, clock))
    told.lines.append(_about(log, parts))
    return log, told


def _asked(files: LogFiles, asker: Asker | None, told: Understood) -> tuple[list[ReadFile], WeatherFile | None, str]:
    """Every file by what is said, remembered and, once all that is open was asked together, answered."""
    said: dict[str, str] = {**files.remembered, **files.dates, **files.words, **files.units}
    zone = files.zone or files.remembered.get(ZONE, "")
    for _ in range(_SCREENS):
        read = _read(files, said)
        weather = weather_file(files.weather, said) if files.weather else None
        items = [FormLine(file.path.name, q) for file in read for q in file.open]
        items += [FormLine(weather.path.name, q) for q in weather.open] if weather else []
        laid_out = not any(item.key in LAID_OUT_BY for item in items)
        if laid_out and not zone and not _carried(read):
            items.append(_zone_item(files.file.name, read))
        if not items:
            return read, weather, zone
        given = filled(items, asker)
        zone = given.get(ZONE, zone)
        told.answers |= given
        told.asked = True
        said |= given
    raise TripLogError(say("triplog.no_row_with_time"))


def _read(files: LogFiles, said: Mapping[str, str]) -> list[ReadFile]:
    """Columns that were named belong to the log itself; the other files are laid out in their own way."""
    plain = {key: text for key, text in said.items() if key not in ("time", "event", "sensor")}
    logs: list[tuple[Path | None, Mapping[str, str], Kind | None]] = [
        (files.file, {**said, **files.columns}, None),
        (files.moves, plain, "move"),
        (files.passes, plain, "pass"),
    ]
    return [read_file(path, known, kind) for path, known, kind in logs if path]


def _carried(read: Sequence[ReadFile]) -> str:
    """The one offset from UTC that every time of the log carries, unless it is none; '' otherwise."""
    ahead = np.unique(np.concatenate([file.rows.ahead for file in read]))
    if len(ahead) != 1 or np.isnan(ahead[0]) or ahead[0] == 0.0:
        return ""
    minutes = int(abs(ahead[0]) // 60)
    return f"{'-' if ahead[0] < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"


def _zone_item(name: str, read: Sequence[ReadFile]) -> FormLine:
    bare = any(np.isnan(file.rows.ahead).any() for file in read)
    asks = say("triplog.ask_zone") if bare else say("triplog.ask_local_zone")
    question = FileQuestion(ZONE, say("triplog.zone_help", asks=asks), {}, say("triplog.zone_option"))
    return FormLine(name, question, lambda typed: triplogs.clock_of(typed, 0.0, 1.0))


def _tell(file: ReadFile, told: Understood) -> None:
    layout, name = file.layout, file.path.name
    column, written = layout.names[layout.time], format_says(layout.format)
    told.lines.append(say("triplog.rows", file=name, rows=file.rows.read, column=column, written=written))
    told.lines += [f"{name}: {text}" for text in [spoken_of(head_of(file.path))] if text]
    if layout.skip:
        told.lines.append(say("triplog.above_heading", n=layout.skip, file=name))
    if layout.event < 0:
        told.lines.append(say("triplog.every_row", file=name, kind=say(f"triplog.kind_{file.only or 'trip'}")))
    by_kind = {k: [w for w, means in layout.kinds.items() if means == k] for k in KINDS}
    told.lines += [
        say("triplog.words_of", kind=say(f"triplog.kind_{k}"), words=", ".join(repr(w) for w in words))
        for k, words in by_kind.items()
        if words
    ]
    if layout.numbers:
        told.lines.append(say("triplog.numbers_of", file=name, columns=", ".join(layout.numbers)))
    if len(file.rows.clock) > 1 and not (file.rows.clock % 60).any():
        told.lines.append(say("triplog.only_minutes", file=name))
    told.bad.append((name, file.rows.bad))


def _clock(zone: str, read: Sequence[ReadFile], told: Understood, was_told: bool) -> Clock:
    local = np.concatenate([file.rows.clock for file in read])
    if not len(local):
        raise TripLogError(say("triplog.no_row_with_time"))
    clock = triplogs.clock_of(zone, float(local.min()), float(local.max()))
    why = say("triplog.as_told") if was_told else say("triplog.as_times_say")
    told.lines.append(say("triplog.clock", name=clock.name, why=why))
    if changes := len(clock.since) - 1:
        told.lines.append(say("triplog.clock_changes", n=changes))
    return clock


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


def _readings(file: WeatherFile, clock: Clock, told: Understood) -> Weather:
    weather, bad = file.read(clock)
    what = ", ".join(say(f"triplog.reading_{name}", unit=column.unit) for name, column in file.columns.items())
    told.lines.append(say("triplog.weather", file=file.path.name, readings=len(weather.times), what=what))
    told.bad.append((file.path.name, bad))
    return weather


def _bounds(files: LogFiles, clock: Clock) -> Bounds:
    """What bounds the log, on the UTC line."""
    ends = to_utc(clock, np.array([files.begin, files.end, *(t for pair in files.out for t in pair)]))
    utc = np.where(ends.never, np.array([files.begin, files.end, *(t for pair in files.out for t in pair)]), ends.utc)
    return Bounds(float(utc[0]), float(utc[1]), utc[2:].reshape(-1, 2), files.keep)


def _about(log: Log, parts: Sequence[Part]) -> str:
    ends = [str(np.datetime64(int(t), "m")) for t in log.clock.local(np.array([log.begin, log.end])) // 60]
    every = np.sort(np.concatenate([*(utc for _, utc in parts), log.outages.ravel()]))
    gaps = np.column_stack([every[:-1], every[1:]])
    watched = [b - a for a, b in gaps[np.diff(every) > 0] if not any(c <= a and b <= d for c, d in log.outages)]
    return say(
        "triplog.about",
        trips=sum(int((rows.kind == KINDS.index("trip")).sum()) for rows, _ in parts),
        moves=len(log.moves),
        passes=len(log.passes),
        opens=len(log.opens),
        first=ends[0],
        last=ends[1],
        silence=f"{max(watched, default=0.0) / 3600:.1f}",
    )
