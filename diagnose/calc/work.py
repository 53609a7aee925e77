"""From what was typed to a calculation worked out."""

from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from diagnose.calc.calculator import Calculator, CalculatorInput, Finished, ReadInput, Solution, WorkedOut
from diagnose.calc.registry import BY_HAND
from diagnose.errors import AnswerError, CalculationError

UNKNOWN = ("?", "unknown", "dk", "don't know", "dont know")
Typed = Sequence[tuple[str, str]]


def find(name: str) -> Calculator:
    """The calculator of this name. Raises AnswerError."""
    typed = name.strip().casefold().replace("-", "_")
    if typed in BY_HAND:
        return BY_HAND[typed]
    close = get_close_matches(typed, BY_HAND, n=3, cutoff=0.5)
    hint = f"Did you mean {' or '.join(close)}?" if close else f"There are: {', '.join(BY_HAND)}."
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


def _parameter(calculator: Calculator, name: str) -> CalculatorInput:
    typed = name.strip().casefold().replace("-", "_")
    hits = [p for p in calculator.inputs if p.name == typed]
    hits = hits or [p for p in calculator.inputs if typed and p.name.startswith(typed)]
    if len(hits) == 1:
        return hits[0]
    names = ", ".join(p.name for p in hits or calculator.inputs)
    raise AnswerError(f"'{name.strip()}' is not an input of {calculator.name}; use {names}.")


def read_one(parameter: CalculatorInput, text: str) -> ReadInput | None:
    """What was typed for one input; None when it says the value is not known. Raises AnswerError."""
    if text.strip().casefold() in UNKNOWN:
        return None
    try:
        return parameter.asked.read(text)
    except AnswerError as error:
        raise AnswerError(f"{parameter.name}: {error} Example: {typed_as(parameter)}") from None


def typed_as(parameter: CalculatorInput) -> str:
    """An example of how to give the input."""
    return f"{parameter.name}={parameter.asked.example}"


def work(calculator: Calculator, typed: Typed) -> WorkedOut:
    """The calculation worked out. Raises AnswerError for an input, CalculationError when they do not go together."""
    given = {each.name: _read_all(each, typed) for each in calculator.inputs}
    try:
        found = calculator.run(**{p.name: _value(p, given[p.name]) for p in calculator.inputs if given[p.name]})
    except CalculationError as error:
        raise CalculationError(f"{calculator.name}: {error} Example: {calculator.example}") from None
    answer = _for_a_person(calculator, found) if isinstance(found, Finished) else found
    return WorkedOut(
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


def _for_a_person(calculator: Calculator, found: Finished) -> Solution:
    meaning = calculator.words[found.word]
    return Solution(((found.word.replace("_", " "), found.says),), f"{meaning[0].upper()}{meaning[1:]}.")


def _read_all(parameter: CalculatorInput, typed: Typed) -> tuple[ReadInput, ...]:
    texts = [text for name, text in typed if name == parameter.name]
    if len(texts) > 1 and not parameter.repeated:
        raise AnswerError(f"{parameter.name} is given {len(texts)} times; give it once.")
    found = tuple(given for text in texts if (given := read_one(parameter, text)) is not None)
    if not found and parameter.assumed:
        return (ReadInput(parameter.default, parameter.assumed, "not given, assumed"),)
    if not found and parameter.required:
        raise AnswerError(f"{parameter.name} is missing: {parameter.asked.asks}. Example: {typed_as(parameter)}")
    return found


def _value(parameter: CalculatorInput, given: tuple[ReadInput, ...]) -> object:
    return tuple(one.value for one in given) if parameter.repeated else given[0].value


def _input_rows(calculator: Calculator, given: Mapping[str, tuple[ReadInput, ...]]) -> list[tuple[str, str]]:
    return [(p.name, str(one)) for p in calculator.inputs for one in given[p.name]]
