"""What a calculator is, what it asks for, and what it hands back."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto

Rows = tuple[tuple[str, str], ...]
"""(label, text) pairs, to be shown one under the other."""


@dataclass(frozen=True, slots=True)
class Given:
    """An input as understood: the value, how to show it, and any assumption made while reading it."""

    value: object
    shown: str
    note: str = ""

    def __str__(self) -> str:
        return f"{self.shown} ({self.note})" if self.note else self.shown


class Need(Enum):
    """Whether an input must be given."""

    REQUIRED = auto()
    OPTIONAL = auto()
    REPEATED = auto()  # once or more


@dataclass(frozen=True, slots=True)
class Parameter:
    """One input. `read` raises AnswerError; `default` is text taken when an optional input is not known."""

    name: str
    asks: str
    example: str
    read: Callable[[str], Given]
    need: Need = Need.REQUIRED
    default: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What one calculation found. `drawing` lines are at most 40 columns wide."""

    results: Rows
    meaning: str
    drawing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculator:
    """A calculation with everything needed to ask for it and to explain it.

    `run` takes every parameter by its name: what `read` made of it, None when unknown, a tuple when repeated.
    """

    name: str
    title: str
    example: str
    parameters: tuple[Parameter, ...]
    run: Callable[..., Answer]
    formula: str
    source: str
    limits: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Worked:
    """A calculation worked out, ready to be drawn by any front end."""

    title: str
    inputs: Rows
    formula: str
    results: Rows
    meaning: str
    source: str
    limits: str = ""
    caution: str = ""
    drawing: tuple[str, ...] = ()
