"""What an event word of a log most likely means; a word that could mean two things is asked about."""

import re
from collections.abc import Iterable
from typing import Literal

Kind = Literal["trip", "move", "pass", "ignore", "open", "closed", "service", "power"]
KINDS: tuple[Kind, ...] = ("trip", "move", "pass", "ignore", "open", "closed", "service", "power")
_ENDS = {"off", "clear", "cleared", "end", "ended", "release", "released", "reset", "idle", "0", "false", "inactive",
         "stop", "stopped", "restored", "normal", "ok", "low"}  # fmt: skip
_LOST = {"off", "down", "fail", "failed", "failure", "lost", "loss", "out", "outage", "dropped"}
_BACK = {"back", "return", "returned", "returns", "restored", "resumed", "restart", "restarted", "boot", "booted",
         "reboot", "rebooted", "startup", "powerup", "poweron", "again"}  # fmt: skip
"""Of a word with both, as 'restart after power loss', the return is what happens at that time."""
_ARRIVED = {"closed", "shut"}
_SHUTS = ("clos", "shut", "lower")
_TWO_WAYS = {"opened", *_ARRIVED}  # a movement that ends, or one that begins
_MEANS: dict[Kind, tuple[str, ...]] = {
    "trip": ("trip", "nuisance", "detect", "activ", "alarm", "ghost", "obstruct", "interrupt", "fault", "beam"),
    "move": ("mov", "open", "clos", "motor", "travel", "raise", "lower", "lift"),
    "pass": ("pass", "vehicle", "transit", "truck", "lorry", "traffic"),
}
_ALONE: dict[str, Kind] = {"1": "trip", "on": "trip", "true": "trip", "high": "trip"}
_CARS = {"car", "cars"}
_ASKS = {"card", "badge", "fob", "tag", "transponder", "rfid", "remote", "keypad", "code", "pin", "phone", "gsm",
         "app", "intercom", "button", "pushbutton", "push", "reader", "command", "cmd", "request", "granted",
         "ticket", "plate", "handset", "keyswitch"}  # fmt: skip
"""Somebody wants to be let in."""
_LOOPS = {"loop", "exit"}  # lets vehicles out; but it may be the very sensor of the log
_REFUSED = {"denied", "refused", "rejected", "invalid", "unknown", "expired"}
_SERVICE = ("service", "maint", "test", "commission", "walktest")
_BY_ITSELF = {"self", "auto", "selftest", "pulse", "cyclic"}
_POWER = {"power", "mains", "boot", "booted", "reboot", "restart", "startup", "powerup", "poweron", "supply",
          "brownout", "outage", "blackout"}  # fmt: skip
_BEGINS = {"opening", "closing", "opens", "closes"}


def parts_of(word: str) -> list[str]:
    """The words within an event word; 'gateClosed' and 'gate_closed' have the same."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", word)
    return [p for p in re.split(r"[\W_]+", spaced.casefold()) if p]


def ends(word: str) -> bool:
    """Whether a service word says that the work is over."""
    return any(part in _ENDS or part in {"finished", "done", "left", "leave"} for part in parts_of(word))


def power_lost(word: str) -> bool:
    """Whether a power word says that the supply went, not that it came."""
    parts = parts_of(word)
    return any(part in _LOST for part in parts) and not any(part in _BACK for part in parts)


def arrives_shut(word: str) -> bool:
    """Whether a word of movement says that the gate has closed, not that it begins to."""
    return any(part in _ARRIVED for part in parts_of(word))


def begins_to_shut(word: str) -> bool:
    """Whether a word of movement says that the gate begins to close."""
    return any(part.startswith(_SHUTS) and part not in _ARRIVED for part in parts_of(word))


def kind_of_word(word: str) -> Kind | None:
    """The kind of an event word by itself, or None where it says nothing or two things."""
    parts = parts_of(word)
    if kind := _apart(parts):
        return kind
    if any(part in _ENDS for part in parts):
        return "ignore"
    if any(part in _ASKS for part in parts):
        return _of_somebody(parts)
    if any(part in _TWO_WAYS or part in _LOOPS for part in parts):
        return None
    if len(parts) == 1 and parts[0] in _ALONE:
        return _ALONE[parts[0]]
    hits = {kind for kind, stems in _MEANS.items() for part in parts if part.startswith(stems)}
    hits |= {"pass"} if any(part in _CARS for part in parts) else set()
    return hits.pop() if len(hits) == 1 else None


def _apart(parts: list[str]) -> Kind | None:
    """Words about the work on the gate and its supply. The device's own test is neither."""
    if any(part.startswith(_SERVICE) for part in parts):
        return "ignore" if any(part in _BY_ITSELF for part in parts) else "service"
    if any(part in _POWER for part in parts) and not any(part.startswith(("low", "volt")) for part in parts):
        return "power"
    return None


def _of_somebody(parts: list[str]) -> Kind | None:
    """A card or a remote control opens, unless it was refused or closes; with a trip in the same word it is open."""
    if any(part in _REFUSED for part in parts):
        return "ignore"
    if any(part.startswith("clos") for part in parts):
        return "move"
    return None if any(part.startswith(_MEANS["trip"]) for part in parts) else "open"


def kinds_of(words: Iterable[str]) -> dict[str, Kind | None]:
    """The kind of each word of one log. Its other words can settle what a word by itself leaves open: beside
    'closing', 'closed' is the arrival; a loop lets out where something else trips."""
    found = {word: kind_of_word(word) for word in words}
    begins = any(part in _BEGINS for word in found for part in parts_of(word))
    trips = any(kind == "trip" for kind in found.values())
    for word, kind in found.items():
        parts = set(parts_of(word))
        if begins and kind in (None, "move") and parts & {"open", *_TWO_WAYS} and not parts & _BEGINS:
            found[word] = "closed" if parts & _ARRIVED else "ignore"
        elif trips and kind is None and parts & _LOOPS:
            found[word] = "open"
    return found
