"""Who is connected: so many at once from one address and in all, and who keeps the server waiting makes room.

Counted where connections are accepted, before any encryption is agreed on: whoever says nothing at all counts too.
Nobody new is turned away while somebody else only waits; so idle or slow ones, however many, shut nobody out.
"""

import ipaddress
import socket
import time
from collections import Counter
from collections.abc import Callable, Container, Iterable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Protocol

MOST_AT_ONCE = 400
MOST_FROM_ONE = 100  # an office behind one address has many browsers, and each opens a few
FORGOTTEN_EACH = 64  # arrivals, after which those are looked for that went unseen

Peer = tuple[str, int]


class Talk(Protocol):
    """What is said on a connection."""

    @property
    def waits(self) -> bool:
        """Whether the next word is the client's."""

    @property
    def since(self) -> float: ...

    def drop(self) -> None: ...


@dataclass(eq=False, slots=True)
class Connection:
    """One connection; `talk` None as long as no protocol has it."""

    door: socket.socket
    group: str
    since: float
    talk: Talk | None = None

    @property
    def waits(self) -> bool:
        return self.talk is None or self.talk.waits

    @property
    def waiting_since(self) -> float:
        return self.talk.since if self.talk else self.since

    def drop(self) -> None:
        if self.talk:
            self.talk.drop()
        else:  # only the system knows it yet
            with suppress(OSError):
                self.door.shutdown(socket.SHUT_RDWR)


NO_ADDRESS = "none"


def group_of(address: str) -> str:
    """What one person has of addresses: one of the short ones, or a whole network of the long ones."""
    try:
        known = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return NO_ADDRESS  # whatever a server in front says instead: they are one, and slow down each other only
    short = known if isinstance(known, ipaddress.IPv4Address) else known.ipv4_mapped
    return str(short or ipaddress.ip_network((int(known), 64), strict=False))


class Connections:
    """All connections. `many`: addresses that speak for many people, as a proxy does: only the total bounds them."""

    def __init__(
        self,
        most: int = MOST_AT_ONCE,
        most_each: int = MOST_FROM_ONE,
        many: Container[str] = (),
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._most, self._most_each, self._many, self._clock = most, most_each, many, clock
        self._lines: dict[Peer, Connection] = {}
        self._arrived = 0

    def __len__(self) -> int:
        return len(self._lines)

    def arrived(self, door: socket.socket, peer: Peer) -> bool:
        """Whether there is room for it, which somebody who waits may have had to make."""
        self._arrived += 1
        if self._arrived % FORGOTTEN_EACH == 0:
            self._forget_gone()
        group = group_of(peer[0])
        if not self._room(group, peer[0] in self._many):
            return False
        self._lines[peer] = Connection(door, group, self._clock())
        return True

    def spoken(self, peer: Peer | None, talk: Talk) -> None:
        """A protocol has taken it."""
        if peer in self._lines:
            self._lines[peer].talk = talk

    def gone(self, peer: Peer | None, talk: Talk) -> None:
        if peer in self._lines and self._lines[peer].talk is talk:
            del self._lines[peer]

    def _room(self, group: str, many: bool) -> bool:
        if not many:
            own = [line for line in self._lines.values() if line.group == group]
            if len(own) >= self._most_each and not self._made_room(own):
                return False
        return len(self._lines) < self._most or self._made_room(self._of_the_most())

    def _of_the_most(self) -> Iterable[Connection]:
        """Those who wait from where most of them wait."""
        waiting = [line for line in self._lines.values() if line.waits]
        most = Counter(line.group for line in waiting).most_common(1)
        return [line for line in waiting if line.group == most[0][0]] if most else ()

    def _made_room(self, among: Iterable[Connection]) -> bool:
        """The one that has kept us waiting longest is dropped; False where none does."""
        longest = min((line for line in among if line.waits), key=lambda line: line.waiting_since, default=None)
        if longest is None:
            return False
        self._lines = {peer: line for peer, line in self._lines.items() if line is not longest}
        longest.drop()
        return True

    def _forget_gone(self) -> None:
        self._lines = {peer: line for peer, line in self._lines.items() if line.door.fileno() >= 0}


class Door(socket.socket):
    """A listening socket that lets in only whom there is room for."""

    lines: Connections

    def accept(self) -> tuple[socket.socket, Any]:
        """The next one there is room for; the others are closed. Raises BlockingIOError when nobody is left."""
        while True:
            came, address = super().accept()
            if self.lines.arrived(came, address[:2]):
                return came, address
            came.close()


def door_of(listening: socket.socket, lines: Connections) -> Door:
    """The same socket, with somebody at it."""
    family, kind = listening.family, listening.type
    door = Door(family, kind, fileno=listening.detach())
    door.lines = lines
    return door
