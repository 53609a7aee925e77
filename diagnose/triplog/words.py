"""What an event word of a log most likely means; a word that could mean two things is asked about."""

import re
from typing import Literal

Kind = Literal["trip", "move", "pass", "ignore"]
KINDS: tuple[Kind, ...] = ("trip", "move", "pass", "ignore")
_ENDS = {"off", "clear", "cleared", "end", "ended", "release", "released", "reset", "idle", "0", "false", "inactive",
         "stop", "stopped", "restored", "normal", "ok", "low"}  # fmt: skip
_TWO_WAYS = {"opened", "closed"}  # a movement that ends, or one that begins
_MEANS: dict[Kind, tuple[str, ...]] = {
    "trip": ("trip", "nuisance", "detect", "activ", "alarm", "ghost", "obstruct", "interrupt", "fault", "beam"),
    "move": ("mov", "open", "clos", "motor", "travel", "raise", "lower", "lift"),
    "pass": ("pass", "vehicle", "car", "transit", "truck", "lorry", "traffic"),
}
_ALONE: dict[str, Kind] = {"1": "trip", "on": "trip", "true": "trip", "high": "trip"}


def kind_of_word(word: str) -> Kind | None:
    """The kind of an event word, or None where it says nothing or two things."""
    parts = [p for p in re.split(r"[\W_]+", word.casefold()) if p]
    if any(part in _ENDS for part in parts):
        return "ignore"
    if any(part in _TWO_WAYS for part in parts):
        return None
    if len(parts) == 1 and parts[0] in _ALONE:
        return _ALONE[parts[0]]
    hits = {kind for kind, stems in _MEANS.items() for part in parts if part.startswith(stems)}
    return hits.pop() if len(hits) == 1 else None
