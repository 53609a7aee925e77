"""Guessing passwords is slowed down: by address, and by name over all addresses. Nobody is locked out by others."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

T = TypeVar("T")

TRIES, IN_S = 5, 300.0  # wrong ones from one address
GUESSED = 20  # wrong ones for one name, from anywhere; from then on an address has one try for it
MOST_KEPT = 10_000  # addresses and names; the oldest are forgotten first


@dataclass(slots=True)
class Throttle:
    """Not safe to share between threads. A try counts as wrong until it has turned out right."""

    clock: Callable[[], float]
    _of: dict[str, list[tuple[float, str]]] = field(default_factory=dict)  # address -> when, and for which name
    _for: dict[str, list[float]] = field(default_factory=dict)  # name -> when

    def may_try(self, address: str, name: str) -> bool:
        """Whether a password is looked at; if so the try is noted."""
        now = self.clock()
        of = [(at, who) for at, who in self._of.pop(address, []) if at > now - IN_S]
        wrong = [at for at in self._for.pop(name, []) if at > now - IN_S]
        guessed = bool(name) and len(wrong) >= GUESSED
        allowed = len(of) < TRIES and not (guessed and any(who == name for _, who in of))
        if allowed:
            of, wrong = [*of, (now, name)], [*wrong[-GUESSED:], now]
        _keep(self._of, address, of)
        _keep(self._for, name, wrong)
        return allowed

    def right(self, address: str, name: str) -> None:
        """It was the right one. What the address tried for other names stays counted."""
        _keep(self._of, address, [(at, who) for at, who in self._of.pop(address, []) if who != name])
        if wrong := self._for.get(name):
            wrong.pop()


def _keep(kept: dict[str, list[T]], key: str, value: list[T]) -> None:
    """Newest last."""
    if value:
        kept[key] = value
    while len(kept) > MOST_KEPT:
        del kept[next(iter(kept))]
