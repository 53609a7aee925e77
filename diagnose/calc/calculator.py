"""What a calculator is. One record serves the rules of the knowledge, a person with a meter, and practice.

The inputs are the keywords of its function: what has no default is needed, a tuple takes several, and the
annotation says the unit, or how to ask a person (`Asked`).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from inspect import Parameter, signature
from typing import Any, Protocol, get_args, get_origin, get_type_hints

Rows = tuple[tuple[str, str], ...]
"""(label, text) pairs, to be shown one under the other."""
Numbers = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class ReadInput:
    """An input as understood: the value, how to show it, and any assumption made while reading it."""

    value: object
    shown: str
    note: str = ""

    def __str__(self) -> str:
        return f"{self.shown} ({self.note})" if self.note else self.shown


class Read(Protocol):
    """Reads one input as typed; raises AnswerError with the reason."""

    def __call__(self, text: str, /) -> ReadInput: ...


@dataclass(frozen=True, slots=True)
class AskedInput:
    """How a person is asked for an input."""

    asks: str
    example: str
    read: Read


NOBODY_ASKED = AskedInput("", "", lambda text: ReadInput(text, text))


@dataclass(frozen=True, slots=True)
class CalculatorInput:
    """One input, as the signature says it. `unit` is empty for a word; `default` None means it is not known."""

    name: str
    required: bool
    repeated: bool
    default: object
    unit: str
    asked: AskedInput

    @property
    def assumed(self) -> str:
        """The default as a person reads it; '' where nothing is assumed."""
        return "" if self.default is None else getattr(self.asked.read, "shown", str)(self.default)


@dataclass(frozen=True, slots=True)
class Finished:
    """One word for the rules and one sentence for the person."""

    word: str
    says: str


@dataclass(frozen=True, slots=True)
class Solution:
    """What a calculation found, for a person. `drawing` lines are at most 40 columns wide."""

    results: Rows
    meaning: str
    drawing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculator:
    """A calculation with all that is needed to ask for it, to explain it and to make up a reading for it.

    `words`: verdict -> what such a reading is, as a card says it ('' where only the numbers tell), normal first; a
    calculator without words is no help to rules. `sound`: readings of a sound installation, from the other inputs.
    With an `example` a person may use it.
    """

    name: str
    title: str
    run: Callable[..., Solution | Finished]
    inputs: tuple[CalculatorInput, ...]
    words: Mapping[str, str]
    sound: Callable[[Numbers], Sequence[float]]
    example: str = ""
    formula: str = ""
    source: str = ""
    limits: str = ""
    caution: str = ""

    @property
    def required(self) -> tuple[str, ...]:
        return tuple(i.name for i in self.inputs if i.required)

    @property
    def defaults(self) -> Mapping[str, object]:
        """What is taken for inputs that are not given, where something is."""
        return {i.name: i.default for i in self.inputs if i.default is not None}

    def judge(self, **given: float | str) -> Finished:
        """The verdict for a rule. Raises CalculationError."""
        found = self.run(**given)
        assert isinstance(found, Finished), f"{self.name} has no words"
        return found


@dataclass(frozen=True, slots=True)
class WorkedOut:
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


def calculator(
    name: str,
    title: str,
    *,
    words: Mapping[str, str] | None = None,
    sound: Callable[[Numbers], Sequence[float]] = lambda _: (),
    **told: str,
) -> Callable[[Callable[..., Solution | Finished]], Calculator]:
    """Makes a calculator of a function. `told`: example, formula, source, limits, caution."""

    def made(run: Callable[..., Solution | Finished]) -> Calculator:
        return Calculator(name, title, run, _inputs(run), words or {}, sound, **told)

    return made


def _inputs(run: Callable[..., Any]) -> tuple[CalculatorInput, ...]:
    hints = get_type_hints(run, include_extras=True)
    return tuple(_input(p, hints[p.name]) for p in signature(run).parameters.values())


def _input(parameter: Parameter, hint: Any) -> CalculatorInput:
    parts = (hint, *get_args(hint))  # the note may stand on one side of '| None'
    notes = [n for part in parts for n in getattr(part, "__metadata__", ())]
    asked = next((n for n in notes if isinstance(n, AskedInput)), NOBODY_ASKED)
    unit = next((n for n in notes if isinstance(n, str)), getattr(asked.read, "unit", ""))
    required = parameter.default is Parameter.empty
    repeated = any(get_origin(part) is tuple for part in parts)
    return CalculatorInput(parameter.name, required, repeated, None if required else parameter.default, unit, asked)
