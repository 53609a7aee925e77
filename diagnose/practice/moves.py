"""What a trainee can do, and its plain form for files. An exercise is its gate and the moves made on it."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from diagnose.errors import DiagnoseError
from diagnose.words import say

Beliefs = tuple[tuple[str, float], ...]  # cause -> probability of being present, as the trainee states it


@dataclass(frozen=True, slots=True)
class CheckMove:
    """A check is done. `expects`: a state; `beliefs`: held before it; `prepared`: precautions taken first."""

    check: str
    expects: str = ""
    beliefs: Beliefs = ()
    prepared: bool = False


@dataclass(frozen=True, slots=True)
class SuspectMove:
    """The trainee writes down, in words of his own, what he suspects. Before that nobody lists suspects to him."""

    words: str


@dataclass(frozen=True, slots=True)
class HintMove:
    """The coach is asked; each further hint before the next check is stronger and dearer."""


@dataclass(frozen=True, slots=True)
class RepairMove:
    """Remedies are carried out, named by the causes they mend. More than one at once is a slip."""

    causes: tuple[str, ...]
    beliefs: Beliefs = ()
    prepared: bool = False


@dataclass(frozen=True, slots=True)
class ProofMove:
    """The proof of the last repair is done."""


@dataclass(frozen=True, slots=True)
class TickMove:
    """One line of the return to service is proved."""

    item: str


@dataclass(frozen=True, slots=True)
class FinishMove:
    """The trainee ends: back in service when everything is proved, else out of service."""


Move = CheckMove | SuspectMove | HintMove | RepairMove | ProofMove | TickMove | FinishMove
_NAMES: Mapping[str, type[Any]] = {
    "look": CheckMove,
    "suspect": SuspectMove,
    "hint": HintMove,
    "repair": RepairMove,
    "prove": ProofMove,
    "tick": TickMove,
    "finish": FinishMove,
}
_WORDS = {record: word for word, record in _NAMES.items()}


def to_plain(move: Move) -> dict[str, Any]:
    """A move as JSON values."""
    plain: dict[str, Any] = {"move": _WORDS[type(move)]}
    for f in fields(move):
        value = getattr(move, f.name)
        plain[f.name] = dict(value) if f.name == "beliefs" else list(value) if isinstance(value, tuple) else value
    return plain


def from_plain(plain: Mapping[str, Any]) -> Move:
    """The inverse. Raises DiagnoseError for anything that is no move."""
    record = _NAMES.get(str(plain.get("move")))
    if record is None:
        raise DiagnoseError(say("practice.no_move", name=str(plain.get("move"))))
    known = {f.name for f in fields(record)}
    given = {k: v for k, v in plain.items() if k != "move"}
    if extra := set(given) - known:
        raise DiagnoseError(say("practice.move_lacks", name=sorted(extra)[0]))
    try:
        move: Move = record(**{k: _value(k, v) for k, v in given.items()})
    except (TypeError, ValueError, AttributeError) as error:
        raise DiagnoseError(say("practice.not_a_move", why=error)) from error
    return move


def _value(name: str, value: Any) -> Any:
    if name == "beliefs":
        return stated(value)
    if name == "causes":
        return tuple(map(str, value))
    if name == "prepared":
        return value is True
    return str(value)


def stated(beliefs: Mapping[str, Any]) -> Beliefs:
    """Beliefs from plain values. Raises ValueError outside 0..1."""
    pairs = tuple((str(c), float(p)) for c, p in beliefs.items())
    if any(not 0.0 <= p <= 1.0 for _, p in pairs):
        raise ValueError(say("practice.no_probability"))
    return pairs
