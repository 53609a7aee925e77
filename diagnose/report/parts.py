"""What a page is made of. A cell is one or more lines; the first is the main one."""

from collections.abc import Mapping
from dataclasses import dataclass

Cell = tuple[str, ...]
Images = Mapping[str, bytes]
"""JPEG pictures by the names of their files: those that are there."""
NO_IMAGES: Images = {}


@dataclass(frozen=True, slots=True)
class Text:
    says: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Heading:
    says: str


@dataclass(frozen=True, slots=True)
class Facts:
    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Bullets:
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """`widths` are relative."""

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Alarm:
    """A boxed order; `settled` once it was confirmed."""

    says: str
    rows: tuple[tuple[str, str], ...]
    settled: bool


@dataclass(frozen=True, slots=True)
class Lines:
    """Places to sign, each with its label."""

    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pasted:
    """A picture with what is said below it; `missing` is said where it is not there."""

    name: str
    below: Cell
    missing: str


@dataclass(frozen=True, slots=True)
class Photos:
    items: tuple[Pasted, ...]


Block = Text | Heading | Facts | Bullets | Table | Alarm | Lines | Photos


@dataclass(frozen=True, slots=True)
class Section:
    title: str
    blocks: tuple[Block, ...]
