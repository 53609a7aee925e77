"""The files of one run read by what is said of them; whatever they leave open is asked on one screen for all."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from diagnose.store import triplogs
from diagnose.terminal.ask import Asker
from diagnose.terminal.triplog_form import FormLine, filled
from diagnose.terminal.triplog_reading import ReadFile, WeatherFile, named_in, read_file, weather_file
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.merge import SAME, Part, alike
from diagnose.triplog.records import Place, TripLogError
from diagnose.triplog.words import Kind
from diagnose.words import say

ZONE, WHOSE = "zone", "is"
WHOSE_LOGS = ("same", "lane", "site")
"""A further log: of the same sensor, of another one on the same lane, of another one elsewhere at the site."""
_SCREENS = 5
LAID_OUT_BY = ("time", "event")
"""Which column is which is asked before all else: only then are the words known that must be asked about."""


@dataclass(frozen=True, slots=True)
class LogFiles:
    """The files of one log, and what is said of them beforehand: answers to questions, by `Question.key`.

    `file` has an event column unless every row is a trip; every row of `moves` is a movement, of `passes` a
    vehicle. `more` are further logs of the site. `words` hold for all of them, `columns` for `file` and for whatever
    further log has such a column, `units` for `weather`, `dates` for every file; `own` is what holds for one log
    alone, by 'its name:key'. What was `remembered` of the site holds where nothing else is said. `begin`, `end` and
    the stretches `out` bound the log, in seconds on its own clock; reasons in `keep` set nothing aside.
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
    more: Sequence[Path] = ()
    own: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ReadLog:
    """One further log: its rows, its `name` among the files, its zone, and whose it is."""

    name: str
    file: ReadFile
    zone: str
    whose: str


@dataclass(frozen=True, slots=True)
class WordsAsked:
    """Everything read: the log with its movements and passes, the further logs, the weather, and the log's zone
    ('' where its times say it)."""

    read: Sequence[ReadFile]
    more: Sequence[ReadLog]
    weather: WeatherFile | None
    zone: str


def names_of(paths: Sequence[Path]) -> list[str]:
    """What each file is called: its name, the whole path where two have the same."""
    names = [path.name for path in paths]
    return [name if names.count(name) == 1 else str(path) for name, path in zip(names, paths, strict=True)]


def ask_all(files: LogFiles, asker: Asker | None, given: dict[str, str]) -> WordsAsked:
    """Every file by what is said, remembered and, once all that is open was asked together, answered; what was
    answered is put into `given`. Raises TripLogError, Leave, GoBack."""
    said: dict[str, str] = {**files.remembered, **files.dates, **files.words, **files.units, **files.own}
    if files.zone:
        said[ZONE] = files.zone
    for _ in range(_SCREENS):
        asked, items = _as_said(files, said)
        if not items:
            return asked
        answers = filled(items, asker)
        given |= answers
        said |= answers
    raise TripLogError(say("triplog.no_row_with_time"))


def _as_said(files: LogFiles, said: Mapping[str, str]) -> tuple[WordsAsked, list[FormLine]]:
    """Everything read as far as it is known, and all that has to be asked."""
    first, *names = names_of([files.file, *files.more])
    read = _read(files, {**said, **_own(said, first)})
    weather = weather_file(files.weather, said) if files.weather else None
    items = [FormLine(file.path.name, q) for file in read for q in file.open]
    items += [FormLine(weather.path.name, q) for q in weather.open] if weather else []
    more = [_further(files, name, path, said) for name, path in zip(names, files.more, strict=True)]
    items += [FormLine(name, _of(name, q)) for name, file in zip(names, more, strict=True) for q in file.open]
    zone = _own(said, first).get(ZONE, said.get(ZONE, ""))
    logs = [_with_zone(name, file, said, files) for name, file in zip(names, more, strict=True)]
    if not any(item.key.rpartition(":")[2] in LAID_OUT_BY for item in items):
        items += [] if zone or carried(read) else [_zone_item(first, ZONE, read)]
        items += [_zone_item(log.name, f"{log.name}:{ZONE}", [log.file]) for log in logs if not log.zone]
    logs = [_whose(log, read[0], said) for log in logs]
    items += [FormLine(log.name, _whose_question(log.name)) for log in logs if not log.whose]
    return WordsAsked(read, logs, weather, zone), items


def _own(said: Mapping[str, str], name: str) -> dict[str, str]:
    """What is said of one log alone."""
    return {key.removeprefix(f"{name}:"): text for key, text in said.items() if key.startswith(f"{name}:")}


def _of(name: str, question: FileQuestion) -> FileQuestion:
    """A question about one log alone; what a word means is asked once for all of them."""
    if question.key.startswith("word "):
        return question
    option, space, text = question.option.partition(" ")
    return replace(question, key=f"{name}:{question.key}", option=f"{option}{space}{name}:{text}")


def _read(files: LogFiles, said: Mapping[str, str]) -> list[ReadFile]:
    """Columns that were named belong to the log itself; the other files are laid out in their own way."""
    plain = {key: text for key, text in said.items() if key not in ("time", "event", "sensor")}
    logs: list[tuple[Path | None, Mapping[str, str], Kind | None]] = [
        (files.file, {**said, **files.columns, **_own(files.own, names_of([files.file, *files.more])[0])}, None),
        (files.moves, plain, "move"),
        (files.passes, plain, "pass"),
    ]
    return [read_file(path, known, kind) for path, known, kind in logs if path]


def _further(files: LogFiles, name: str, path: Path, said: Mapping[str, str]) -> ReadFile:
    """A further log by the words of all, and by the columns, dates and words that are its own."""
    general = {key: text for key, text in said.items() if key not in ("time", "event", "sensor", "dates")}
    columns = named_in(path, files.columns)
    return read_file(path, {**general, **files.dates, **columns, **_own(said, name)}, None)


def _with_zone(name: str, file: ReadFile, said: Mapping[str, str], files: LogFiles) -> ReadLog:
    zone = _own(said, name).get(ZONE, files.zone or files.remembered.get(ZONE, "")) or carried([file])
    return ReadLog(name, file, zone, "")


def _whose(log: ReadLog, first: ReadFile, said: Mapping[str, str]) -> ReadLog:
    """As told; or the same sensor's, where the two logs tell the same of the time that both cover."""
    told = _own(said, log.name).get(WHOSE, "")
    same = alike(_rough(first), _rough(log.file)).share >= SAME
    return replace(log, whose=told or ("same" if same else ""))


def _rough(file: ReadFile) -> Part:
    """The rows on their own clocks, before their zones are known."""
    return file.rows, file.rows.clock - np.nan_to_num(file.rows.ahead)


def _whose_question(name: str) -> FileQuestion:
    options = {whose: say(f"triplog.log_is_{whose}") for whose in WHOSE_LOGS}
    return FileQuestion(f"{name}:{WHOSE}", say("triplog.ask_whose"), options, f"--log-is {name}={'|'.join(options)}")


def carried(read: Sequence[ReadFile]) -> str:
    """The one offset from UTC that every time of the log carries, unless it is none; '' otherwise."""
    ahead = np.unique(np.concatenate([file.rows.ahead for file in read]))
    if len(ahead) != 1 or np.isnan(ahead[0]) or ahead[0] == 0.0:
        return ""
    minutes = int(abs(ahead[0]) // 60)
    return f"{'-' if ahead[0] < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"


def _zone_item(name: str, key: str, read: Sequence[ReadFile]) -> FormLine:
    bare = any(np.isnan(file.rows.ahead).any() for file in read)
    asks = say("triplog.ask_zone") if bare else say("triplog.ask_local_zone")
    question = FileQuestion(key, say("triplog.zone_help", asks=asks), {}, say("triplog.zone_option"))
    return FormLine(name, question, lambda typed: triplogs.clock_of(typed, 0.0, 1.0))
