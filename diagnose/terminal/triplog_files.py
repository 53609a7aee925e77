"""The files of one run -> the log, and those of its neighbours; what was understood is kept to show."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from diagnose.store import triplogs
from diagnose.store.log_text import head_of, spoken_of
from diagnose.terminal.ask import Asker
from diagnose.terminal.triplog_asked import LogFiles, ReadLog, ask_all, carried
from diagnose.terminal.triplog_reading import ReadFile, WeatherFile
from diagnose.triplog.assemble import Bounds, assemble
from diagnose.triplog.clock import newest_first, to_utc
from diagnose.triplog.merge import SAME, Part, alike, hours_off, merged
from diagnose.triplog.neighbour import NeighbourLog
from diagnose.triplog.records import Clock, Log, TripLogError, Weather
from diagnose.triplog.rows import Bad, Rows, placed
from diagnose.triplog.stamps import format_says
from diagnose.triplog.words import KINDS
from diagnose.words import say


@dataclass(slots=True)
class Understood:
    """What was understood of the files, to be shown, what was answered about them, and the other sensors' logs."""

    lines: list[str] = field(default_factory=list)
    bad: list[tuple[str, Bad]] = field(default_factory=list)
    answers: dict[str, str] = field(default_factory=dict)
    asked: bool = False
    neighbours: list[NeighbourLog] = field(default_factory=list)


def load(files: LogFiles, asker: Asker | None) -> tuple[Log, Understood]:
    """The log of all files together, and what was understood. Raises TripLogError, Leave, GoBack."""
    given: dict[str, str] = {}
    told = Understood()
    asked = ask_all(files, asker, given)
    told.answers, told.asked = {**files.words, **given}, bool(given)
    every = [*asked.read, *(log.file for log in asked.more)]
    for file in every:
        _tell(file, told)
    clock = _clock(asked.zone or carried(asked.read), every, told, bool(asked.zone))
    parts = [_placed(file.path.name, file.rows, clock, told) for file in asked.read]
    further = [(log, _placed(log.name, log.file.rows, _own_clock(log, clock, told), told)) for log in asked.more]
    parts = _with_same(parts, [(log.name, part) for log, part in further if log.whose == "same"], told)
    others = [(log, part) for log, part in further if log.whose != "same"]
    readings = _readings(asked.weather, clock, told) if asked.weather else None
    wanted, lane = _bounds(files, clock), [part for log, part in others if log.whose == "lane"]
    log = assemble(parts, clock, readings, files.place, wanted, lane)
    for other, part in others:
        beside = parts if other.whose == "lane" else []
        neighbour = assemble([part], clock, readings, files.place, wanted, beside)
        told.neighbours.append(NeighbourLog(other.name, other.whose == "lane", neighbour))
    told.lines.append(_about(log, parts))
    return log, told


def _own_clock(log: ReadLog, clock: Clock, told: Understood) -> Clock:
    """The clock of a further log, said where it is another one."""
    local = log.file.rows.clock
    if not len(local):
        raise TripLogError(say("triplog.no_row_with_time"))
    own = triplogs.clock_of(log.zone, float(local.min()), float(local.max()))
    if own.name != clock.name:
        told.lines.append(say("triplog.clock_of", file=log.name, name=own.name))
    return own


def _with_same(parts: list[Part], more: Sequence[tuple[str, Part]], told: Understood) -> list[Part]:
    """The log with further logs of the same sensor, each row once."""
    if not more:
        return parts
    found, dropped = merged([parts[0], *(part for _, part in more)])
    for (name, part), twice in zip(more, dropped[1:], strict=True):
        rows = alike(parts[0], part).rows
        told.lines.append(say("triplog.merged", file=name, n=len(part[1]), twice=twice, common=rows))
        hours, best = hours_off(parts[0], part) if rows and not twice else (0.0, None)
        if best and hours and best.share >= SAME:
            told.lines.append(say("triplog.other_zone", file=name, hours=f"{hours:+g}", rows=best.both))
    return [found[0], *parts[1:], *found[1:]]


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


def _placed(name: str, rows: Rows, clock: Clock, told: Understood) -> Part:
    kept, utc, twice = placed(rows, clock)
    if twice:
        told.lines.append(say("triplog.twice", file=name, n=twice))
    if newest_first(utc):
        told.lines.append(say("triplog.newest_first", file=name))
    back = int((np.diff(utc) < 0).sum())
    if back and not newest_first(utc):
        told.lines.append(say("triplog.sorted", file=name, n=back))
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
