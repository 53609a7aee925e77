"""How a CSV is laid out, found from its first and last lines; what cannot be found is asked, never guessed."""

import csv
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from diagnose.triplog.records import TripLogError
from diagnose.triplog.stamps import format_says, formats_of
from diagnose.triplog.words import KINDS, Kind, kind_of_word
from diagnose.words import say

LONGEST_LINE = 20_000  # characters
MOST_COLUMNS = 100
DELIMITERS = (",", ";", "\t", "|")
EVERY_ROW = "every_row"
_TIME_NAMES = ("time", "timestamp", "datetime", "date_time", "when", "zeit", "zeitstempel", "utc", "at")
_DATE_NAMES = ("date", "day", "datum")
_EVENT_NAMES = ("event", "type", "kind", "message", "msg", "status", "state", "signal", "action", "ereignis", "what")
_SENSOR_NAMES = ("sensor", "device", "unit", "channel", "zone", "input", "source", "name", "id")
_MOST_WORDS = 40
_TASTED = 20


@dataclass(frozen=True, slots=True)
class FileQuestion:
    """Something the file does not say. `option` is the command's own way to say it."""

    key: str
    asks: str
    options: Mapping[str, str]
    option: str


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand in a row. `date` is the column of the day where it is apart from the time, else -1;
    `event` and `sensor` -1 where there is none. `kinds` says what each event word means."""

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


def cells(line: str, delimiter: str) -> list[str]:
    """The cells of one line; a stray quote harms no other line. A line too long for a row has none."""
    if len(line) > LONGEST_LINE:
        return []
    if '"' not in line:
        return [c.strip() for c in line.split(delimiter)]
    return [c.strip() for c in next(csv.reader([line.replace("\0", " ")], delimiter=delimiter), [])]


def delimiter_of(lines: Sequence[str]) -> str:
    """The sign that splits most lines into the same number of columns, more columns winning."""
    best, found = (0.0, 0), ","
    for sign in DELIMITERS:
        wide, lines_so = Counter(len(cells(line, sign)) for line in lines).most_common(1)[0]
        if wide > 1 and (lines_so / len(lines), wide) > best:
            best, found = (lines_so / len(lines), wide), sign
    return found


def find_layout(
    lines: Sequence[str], said: Mapping[str, str], only: Kind | Literal[""] = ""
) -> Layout | FileQuestion:
    """The layout of a log, or the next question about it. `said` holds answers by a question's key; `only` the
    kind of every row of a file that needs no event column. Raises TripLogError when there are no times in it."""
    lines = [line for line in lines if line.strip()]
    if not lines:
        raise TripLogError(say("triplog.empty"))
    delimiter = said.get("delimiter") or delimiter_of(lines)
    rows = [row for line in lines if (row := cells(line, delimiter))]
    width = max(map(len, rows), default=0)
    if not 0 < width <= MOST_COLUMNS:
        raise TripLogError(say("triplog.no_rows", columns=MOST_COLUMNS, characters=f"{LONGEST_LINE:,}"))
    rows = [row + [""] * (width - len(row)) for row in rows]
    header = not _has_time(rows[0])
    names = tuple(rows[0]) if header else tuple(str(n + 1) for n in range(width))
    body = rows[1:] if header else rows
    if not body:
        raise TripLogError(say("triplog.only_heading"))
    times = _times(names, body, said)
    if isinstance(times, FileQuestion):
        return times
    time, day, format_ = times
    event = -1 if only else _event(names, body, (time, day), said)
    if isinstance(event, FileQuestion):
        return event
    kinds = _kinds([row[event] for row in body] if event >= 0 else [], said)
    if isinstance(kinds, FileQuestion):
        return kinds
    sensor = _named(names, _SENSOR_NAMES, {time, day, event}, said.get("sensor", ""))
    return Layout(delimiter, header, names, time, day, format_, event, sensor, kinds, only or "trip")


def stamp_text(row: Sequence[str], time: int, day: int) -> str:
    """Day and time of a row as one text."""
    return f"{row[day]} {row[time]}" if day >= 0 else row[time]


def _has_time(row: Sequence[str]) -> bool:
    pairs = [f"{a} {b}" for b in row if ":" in b for a in row if a != b]
    return any(formats_of([text]) for text in [*row, *pairs] if any(c.isdigit() for c in text))


def _times(
    names: Sequence[str], body: Sequence[Sequence[str]], said: Mapping[str, str]
) -> tuple[int, int, str] | FileQuestion:
    """(time column, day column or -1, format)."""
    places = _candidates(names, body)
    if "time" in said:
        wanted = said["time"]
        places = {p: f for p, f in places.items() if wanted in (names[p[0]], str(p[0] + 1), f"{p[0]},{p[1]}")}
    if not places:
        raise TripLogError(
            say("triplog.no_times_in", column=said["time"]) if "time" in said else say("triplog.no_times")
        )
    if len(places) > 1:
        options = {f"{t},{d}": names[t] for t, d in places}
        return FileQuestion("time", say("triplog.ask_time"), options, "--time-column NAME")
    (time, day), formats = next(iter(places.items()))
    chosen = [f for f in formats if f == said.get("dates")] or formats
    if len(chosen) > 1:
        options = {f: f"{format_says(f)}: {body[0][day if day >= 0 else time]}" for f in chosen}
        return FileQuestion("dates", say("triplog.ask_dates"), options, f"--dates {'|'.join(options)}")
    return time, day, chosen[0]


def _candidates(names: Sequence[str], body: Sequence[Sequence[str]]) -> dict[tuple[int, int], list[str]]:
    """Columns that read as times, with their formats; those with a telling name alone if there are any."""
    columns = range(len(names))
    alone = {(c, -1): f for c in columns if (f := _formats([row[c] for row in body]))}
    alone = {p: f for p, f in alone.items() if not set(f) <= {"seconds", "milliseconds"}} or alone
    if not alone:
        days = [c for c in columns if names[c].casefold() in _DATE_NAMES] or list(columns)
        clocks = [c for c in columns if 2 * sum(":" in row[c] for row in body) > len(body)]
        days = [c for c in days if 2 * sum(":" in row[c] for row in body) <= len(body)]
        pairs = [(t, d) for d in days for t in clocks]
        alone = {(t, d): f for t, d in pairs if (f := _formats([f"{row[d]} {row[t]}" for row in body]))}
    telling = {p: f for p, f in alone.items() if names[p[0]].casefold() in _TIME_NAMES}
    return telling or alone


def _formats(texts: Sequence[str]) -> list[str]:
    """As `formats_of`; some of the texts alone tell a column without times, which is most of them."""
    return formats_of(texts) if formats_of(texts[:: max(1, len(texts) // _TASTED)]) else []


def _named(names: Sequence[str], known: Sequence[str], taken: set[int], said: str = "") -> int:
    """A column by what was said, else by a telling name; -1 if there is none."""
    if said:
        fits = [i for i, name in enumerate(names) if said in (name, str(i + 1))]
        if not fits:
            raise TripLogError(say("triplog.no_column", name=said, known=", ".join(names)))
        return fits[0]
    plain = [name.casefold().strip(" _") for name in names]
    hits = [i for word in known for i, name in enumerate(plain) if i not in taken and name.split("_")[0] == word]
    return hits[0] if hits else -1


def _event(
    names: Sequence[str], body: Sequence[Sequence[str]], taken: tuple[int, int], said: Mapping[str, str]
) -> int | FileQuestion:
    if said.get("event") == EVERY_ROW:
        return -1
    found = _named(names, _EVENT_NAMES, set(taken), said.get("event", ""))
    others = [i for i in range(len(names)) if i not in taken]
    if found >= 0 or not others:
        return found
    few = {i: {row[i] for row in body} for i in others}
    known = [i for i, words in few.items() if len(words) <= _MOST_WORDS and all(kind_of_word(w) for w in words if w)]
    if len(known) == 1 and "" not in few[known[0]]:
        return known[0]
    options = {names[i]: say("triplog.column_holds", name=names[i], text=body[0][i]) for i in others}
    options[EVERY_ROW] = say("triplog.every_row_trip")
    option = say("triplog.event_option", every=EVERY_ROW)
    return FileQuestion("event", say("triplog.ask_event"), options, option)


def _kinds(words: Sequence[str], said: Mapping[str, str]) -> dict[str, Kind] | FileQuestion:
    """What each event word means; the first that is not known is asked."""
    kinds: dict[str, Kind] = {}
    counted = Counter(w.casefold() for w in words)
    if len(counted) > _MOST_WORDS:
        raise TripLogError(say("triplog.many_words", n=len(counted)))
    for word, times in counted.most_common():
        answer = said.get(f"word {word}", "")
        kind = next((k for k in KINDS if k == answer), kind_of_word(word))
        if kind is None:
            options: dict[str, str] = {k: say(f"triplog.kind_{k}") for k in KINDS}
            return FileQuestion(
                f"word {word}",
                say("triplog.ask_word", word=word, times=times),
                options,
                f"--word '{word}=trip|move|pass|ignore'",
            )
        kinds[word] = kind
    return kinds
