"""Which column of a log is what: its times, its events, its sensors, and its numbers."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from diagnose.triplog.records import TripLogError
from diagnose.triplog.stamps import EPOCHS, SERIAL, format_says, formats_of
from diagnose.triplog.words import KINDS, Kind, kind_of_word, kinds_of, parts_of
from diagnose.words import say

EVERY_ROW = "every_row"
TIME_NAMES = ("time", "timestamp", "datetime", "date_time", "when", "zeit", "zeitstempel", "utc", "at", "ts")
DATE_NAMES = ("date", "day", "datum")
EVENT_NAMES = ("event", "type", "kind", "message", "msg", "status", "state", "signal", "action", "ereignis", "what")
SENSOR_NAMES = ("sensor", "device", "unit", "channel", "zone", "input", "source", "name", "id")
_LASTS = {"duration", "dur", "length", "dauer", "lasted", "held"}
_MOST_WORDS = 40
_TASTED = 20
_NUMERIC = 0.9
_LEAST_VALUES = 3
Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class FileQuestion:
    """Something the file does not say. `option` is the command's own way to say it."""

    key: str
    asks: str
    options: Mapping[str, str]
    option: str


@dataclass(frozen=True, slots=True)
class Where:
    """The columns of a table so far: names, rows, what was `said` beforehand, and what is still to be `asked`."""

    names: Sequence[str]
    body: Sequence[Row]
    said: Mapping[str, str]
    asked: list[FileQuestion]


def times_of(table: Where) -> tuple[int, int, str]:
    """(time column, day column or -1, format); the first that fits where it is asked. Raises TripLogError."""
    names, body, said = table.names, table.body, table.said
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
        table.asked.append(FileQuestion("time", say("triplog.ask_time"), options, "--time-column NAME"))
    (time, day), formats = next(iter(places.items()))
    chosen = [f for f in formats if f == said.get("dates")] or formats
    if len(chosen) > 1 and len(places) == 1:
        options = {f: f"{format_says(f)}: {body[0][day if day >= 0 else time]}" for f in chosen}
        table.asked.append(FileQuestion("dates", say("triplog.ask_dates"), options, f"--dates {'|'.join(options)}"))
    return time, day, chosen[0]


def _candidates(names: Sequence[str], body: Sequence[Row]) -> dict[tuple[int, int], list[str]]:
    """Columns that read as times, with their formats; those with a telling name alone if there are any."""
    columns = range(len(names))
    alone = {(c, -1): f for c in columns if (f := _formats([row[c] for row in body]))}
    alone = {p: f for p, f in alone.items() if not set(f) <= {*EPOCHS, SERIAL}} or alone
    if not alone:
        days = [c for c in columns if names[c].casefold() in DATE_NAMES] or list(columns)
        clocks = [c for c in columns if 2 * sum(":" in row[c] for row in body) > len(body)]
        days = [c for c in days if 2 * sum(":" in row[c] for row in body) <= len(body)]
        pairs = [(t, d) for d in days for t in clocks]
        alone = {(t, d): f for t, d in pairs if (f := _formats([f"{row[d]} {row[t]}" for row in body]))}
    telling = {p: f for p, f in alone.items() if names[p[0]].casefold() in TIME_NAMES}
    return telling or alone


def _formats(texts: Sequence[str]) -> list[str]:
    """As `formats_of`; some of the texts alone tell a column without times, which is most of them."""
    return formats_of(texts) if formats_of(texts[:: max(1, len(texts) // _TASTED)]) else []


def named(names: Sequence[str], known: Sequence[str], taken: set[int], said: str = "") -> int:
    """A column by what was said, else by a telling name; -1 if there is none."""
    if said:
        fits = [i for i, name in enumerate(names) if said in (name, str(i + 1))]
        if not fits:
            raise TripLogError(say("triplog.no_column", name=said, known=", ".join(names)))
        return fits[0]
    plain = [name.casefold().strip(" _") for name in names]
    hits = [i for word in known for i, name in enumerate(plain) if i not in taken and name.split("_")[0] == word]
    return hits[0] if hits else -1


def event_of(table: Where, taken: set[int]) -> int:
    """The column that says what happened; -1 where every row is a trip, or where it is asked."""
    names, body, said = table.names, table.body, table.said
    if said.get("event") == EVERY_ROW:
        return -1
    found = named(names, EVENT_NAMES, taken, said.get("event", ""))
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
    table.asked.append(FileQuestion("event", say("triplog.ask_event"), options, option))
    return -1


def word_kinds(counted: Mapping[str, int], said: Mapping[str, str], asked: list[FileQuestion]) -> dict[str, Kind]:
    """What each event word means; what is not known is asked, and left out until then. Raises TripLogError."""
    if len(counted) > _MOST_WORDS:
        raise TripLogError(say("triplog.many_words", n=len(counted)))
    told = {word: k for word in counted for k in KINDS if said.get(f"word {word}") == k}
    guessed = kinds_of(counted)
    guessed |= {word: _told(guessed[word], kind) for word, kind in told.items()}
    for word, times in Counter(counted).most_common():
        if guessed[word] is None:
            asks = say("triplog.ask_word", word=word, times=times)
            asked.append(FileQuestion(f"word {word}", asks, kind_options(), f"--word '{word}={'|'.join(KINDS)}'"))
    return {word: kind or "ignore" for word, kind in guessed.items()}


def _told(guessed: Kind | None, told: Kind) -> Kind:
    """What a person said; but a word about work or supply that counts as nothing still says when nothing counts."""
    return guessed if told == "ignore" and guessed in ("service", "power") else told


def kind_options() -> dict[str, str]:
    """Every meaning that a word can have, in words."""
    return {k: say(f"triplog.kind_{k}") for k in KINDS}


def numbers_of(names: Sequence[str], body: Sequence[Row], taken: set[int]) -> tuple[int, float, dict[str, int]]:
    """(column that says how long a trip lasted, its unit in seconds, every other column of numbers by name)."""
    found = {i for i in range(len(names)) if i not in taken and _numeric([row[i] for row in body])}
    lasts = [i for i in sorted(found) if _LASTS & set(parts_of(names[i]))]
    lasting = lasts[0] if lasts else -1
    unit = 1e-3 if lasts and "ms" in parts_of(names[lasting]) else 1.0
    return lasting, unit, {names[i]: i for i in sorted(found) if i != lasting}


def _numeric(texts: Sequence[str]) -> bool:
    """Whether a column holds readings: numbers of several values, and no count of the rows."""
    filled = [t for t in texts if t]
    values = [v for t in filled if (v := number(t)) is not None]
    if len(set(values)) < _LEAST_VALUES or len(values) < _NUMERIC * len(filled):
        return False
    steps = Counter(b - a for a, b in pairwise(values))
    return steps.most_common(1)[0] not in [(s, n) for s, n in steps.items() if s and n > len(values) / 2]


def number(text: str) -> float | None:
    """A number with a point or a comma, else None."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None
