"""From what was typed to a calculation worked out."""

from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from diagnose.calc.worked.registry import WORKED
from diagnose.calc.worked.shape import Calculator, Given, Need, Parameter, Worked
from diagnose.errors import AnswerError, CalculationError

UNKNOWN = ("?", "unknown", "dk", "don't know", "dont know")
Typed = Sequence[tuple[str, str]]


def find(name: str) -> Calculator:
    """The calculator of this name. Raises AnswerError."""
    typed = name.strip().casefold().replace("-", "_")
    if typed in WORKED:
        return WORKED[typed]
    close = get_close_matches(typed, WORKED, n=3, cutoff=0.5)
    hint = f"Did you mean {' or '.join(close)}?" if close else f"There are: {', '.join(WORKED)}."
    raise AnswerError(f"There is no calculator '{name.strip()}'. {hint}")


def split(calculator: Calculator, words: Sequence[str]) -> list[tuple[str, str]]:
    """(name, text) pairs from 'name=text' words; a word without '=' goes on with the text before it.

    Raises AnswerError for a name that is no input of the calculator.
    """
    pairs: list[tuple[str, str]] = []
    for each in words:
        name, equals, text = each.partition("=")
        if equals:
            pairs.append((_parameter(calculator, name).name, text.strip()))
        elif pairs:
            pairs[-1] = (pairs[-1][0], f"{pairs[-1][1]} {each}".strip())
        else:
            raise AnswerError(f"'{each}' is not name=value. Example: {calculator.example}")
    return pairs


def _parameter(calculator: Calculator, name: str) -> Parameter:
    typed = name.strip().casefold().replace("-", "_")
    hits = [p for p in calculator.parameters if p.name == typed]
    hits = hits or [p for p in calculator.parameters if typed and p.name.startswith(typed)]
    if len(hits) == 1:
        return hits[0]
    names = ", ".join(p.name for p in hits or calculator.parameters)
    raise AnswerError(f"'{name.strip()}' is not an input of {calculator.name}; use {names}.")


def read_one(parameter: Parameter, text: str) -> Given | None:
    """What was typed for one input; None when it says the value is not known. Raises AnswerError."""
    if text.strip().casefold() in UNKNOWN:
        return None
    try:
        return parameter.read(text)
    except AnswerError as error:
        raise AnswerError(f"{parameter.name}: {error} Example: {parameter.name}={parameter.example}") from None


def work(calculator: Calculator, typed: Typed) -> Worked:
    """The calculation worked out. Raises AnswerError for an input, CalculationError when they do not go together."""
    given = {parameter.name: _read_all(parameter, typed) for parameter in calculator.parameters}
    try:
        answer = calculator.run(**{p.name: _value(p, given[p.name]) for p in calculator.parameters})
    except CalculationError as error:
        raise CalculationError(f"{calculator.name}: {error} Example: {calculator.example}") from None
    return Worked(
        title=calculator.title,
        inputs=tuple(_input_rows(calculator, given)),
        formula=calculator.formula,
        results=answer.results,
        meaning=answer.meaning,
        source=calculator.source,
        limits=calculator.limits,
        caution=calculator.caution,
        drawing=answer.drawing,
    )


def _read_all(parameter: Parameter, typed: Typed) -> tuple[Given, ...]:
    texts = [text for name, text in typed if name == parameter.name]
    if len(texts) > 1 and parameter.need is not Need.REPEATED:
        raise AnswerError(f"{parameter.name} is given {len(texts)} times; give it once.")
    found = tuple(given for text in texts if (given := read_one(parameter, text)) is not None)
    if not found and parameter.default:
        assumed = parameter.read(parameter.default)
        return (Given(assumed.value, assumed.shown, "not given, assumed"),)
    if not found and parameter.need is not Need.OPTIONAL:
        raise AnswerError(
            f"{parameter.name} is missing: {parameter.asks}. Example: {parameter.name}={parameter.example}"
        )
    return found


def _value(parameter: Parameter, given: tuple[Given, ...]) -> object:
    if parameter.need is Need.REPEATED:
        return tuple(one.value for one in given)
    return given[0].value if given else None


def _input_rows(calculator: Calculator, given: Mapping[str, tuple[Given, ...]]) -> list[tuple[str, str]]:
    return [(p.name, str(one)) for p in calculator.parameters for one in given[p.name]]
