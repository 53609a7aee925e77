"""The devices that stand at one gate, and how entries of the knowledge are named that exist for each of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

JOBS = ("opens", "protects", "closes", "counts")
MOST = 8  # devices at one gate: with more, the first question takes too long
LONGEST = 60  # characters of a name, which stands before every text about the device
AT = "@"  # between an entry and the device it is for


@dataclass(frozen=True, slots=True)
class Device:
    """One device: `name` in the site's words, its kind of sensor, what it does for the gate (() = not known), and the
    facts of its profile."""

    name: str
    kind: str
    jobs: tuple[str, ...] = ()
    facts: Mapping[str, str | float] = field(default_factory=dict, hash=False)

    @property
    def key(self) -> str:
        return slug(self.name)

    @property
    def nameable(self) -> bool:
        """Whether the name can stand before every text about the device: some letters, in one short line."""
        return bool(self.key) and self.name.isprintable() and len(self.name) <= LONGEST

    def has(self, job: str) -> bool:
        """Whether it may have the job; '' stands for any."""
        return not job or not self.jobs or job in self.jobs


Gear = tuple[Device, ...]


@lru_cache(maxsize=1024)
def slug(name: str) -> str:
    """A device's name as a key: lower case, words joined by '_'."""
    return "_".join("".join(c if c.isalnum() else " " for c in name.casefold()).split())


def at(entry: str, key: str) -> str:
    """The entry of one device."""
    return f"{entry}{AT}{key}"


def device_of(entry: str) -> str:
    """The key of the device that an entry is for, '' for the site's."""
    return entry.partition(AT)[2]


def plain(entry: str) -> str:
    """The entry as it stands in the knowledge, whichever device it is for."""
    return entry.partition(AT)[0]


def key_of(entry: str) -> str:
    """The key of the device that an entry is for; '' where it is for none in particular."""
    return entry.partition(AT)[2]
