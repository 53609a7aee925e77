"""`diagnose calc`: lists the calculators, asks one for its inputs, and draws what came out."""

from collections.abc import Sequence

from diagnose.calc.calculator import Calculator, CalculatorInput, WorkedOut
from diagnose.calc.registry import BY_HAND
from diagnose.calc.work import find, read_one, split, typed_as, work
from diagnose.errors import AnswerError, CalculationError
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen
from diagnose.words import say

LEFT = 2
Pairs = list[tuple[str, str]]


def run(args: Sequence[str], screen: Screen, reader: Reader) -> int:
    """The list, one calculator asked for step by step, or one worked out from name=value words.

    Returns the exit code. Raises AnswerError or CalculationError with a message for the person.
    """
    if not args or args[0] in ("help", "list"):
        _list(screen)
        return 0
    calculator, words = find(args[0]), args[1:]
    if words and words[0] in ("help", "?"):
        _explain(screen, calculator)
        return 0
    if words:
        draw_worked(screen, work(calculator, split(calculator, words)))
        return 0
    try:
        draw_worked(screen, _asked(screen, Asker(screen, reader), calculator))
    except Leave:
        return LEFT
    return 0


def _list(screen: Screen) -> None:
    screen.heading(say("terminal.calculators"))
    for calculator in BY_HAND.values():
        screen.line(f"{calculator.name}: {calculator.title}")
    screen.line()
    screen.line(say("terminal.calc_how"))
    screen.line(_example(next(iter(BY_HAND.values()))))


def _explain(screen: Screen, calculator: Calculator) -> None:
    screen.heading(calculator.title)
    for parameter in calculator.inputs:
        screen.hanging("  ", f"{parameter.name}: {_question(parameter)} ({typed_as(parameter)})")
    screen.line()
    screen.pair(say("terminal.calc_formula"), calculator.formula)
    screen.pair(say("terminal.calc_example"), _example(calculator))


def _example(calculator: Calculator) -> str:
    return say("terminal.calc_typed", example=calculator.example)


def _asked(screen: Screen, asker: Asker, calculator: Calculator) -> WorkedOut:
    """Asks until the inputs go together. Raises Leave."""
    screen.heading(calculator.title)
    if calculator.caution:
        screen.pair(say("terminal.calc_care"), calculator.caution)
    while True:
        pairs = _ask_all(screen, asker, calculator.inputs)
        try:
            return work(calculator, pairs)
        except (AnswerError, CalculationError) as error:
            screen.line(f"{error}")
            screen.line(say("terminal.calc_again"))


def _ask_all(screen: Screen, asker: Asker, parameters: Sequence[CalculatorInput]) -> Pairs:
    answers: list[Pairs] = []
    while len(answers) < len(parameters):
        try:
            answers.append(_ask(screen, asker, parameters[len(answers)]))
        except GoBack:
            if answers:
                answers.pop()
            else:
                screen.line(say("terminal.calc_first"))
    return [pair for pairs in answers for pair in pairs]


def _ask(screen: Screen, asker: Asker, parameter: CalculatorInput) -> Pairs:
    """The texts for one input; none when it is not known. Raises Leave, GoBack."""
    screen.line()
    screen.line(say("terminal.calc_for_example", question=_question(parameter), example=parameter.asked.example))
    pairs: Pairs = []
    while True:
        try:
            typed = _one(asker, parameter)
        except AnswerError as error:
            screen.line(f"{error}")
            continue
        if typed:
            pairs.append((parameter.name, typed))
        if parameter.repeated and (typed or not pairs):
            more = say("terminal.calc_another") if pairs else say("terminal.calc_at_least_one", name=parameter.name)
            screen.line(more)
        elif typed or pairs or not parameter.required:
            return pairs
        else:
            screen.line(say("terminal.calc_needed", example=parameter.asked.example))


def _one(asker: Asker, parameter: CalculatorInput) -> str:
    """A text that can be read, or '' when it is not known. Raises AnswerError, Leave, GoBack."""
    typed = asker.said(f"{_question(parameter)}.")
    return typed if typed and read_one(parameter, typed) is not None else ""


def _question(parameter: CalculatorInput) -> str:
    if parameter.assumed:
        return say("terminal.calc_assumed", asks=parameter.asked.asks, assumed=parameter.assumed)
    return parameter.asked.asks if parameter.required else say("terminal.calc_may_lack", asks=parameter.asked.asks)


def draw_worked(screen: Screen, worked: WorkedOut) -> None:
    """Inputs, formula, result, drawing, meaning, source and limits, in that order."""
    screen.heading(worked.title)
    for label, text in worked.inputs:
        screen.hanging("  ", f"{label}: {text}")
    screen.pair(say("terminal.calc_formula"), worked.formula)
    screen.line(say("terminal.calc_result"), "bold")
    for label, text in worked.results:
        screen.hanging("  ", f"{label}: {text}")
    if worked.drawing:
        screen.line()
        for row in worked.drawing:
            screen.line(row)
        screen.line()
    screen.pair(say("terminal.calc_at_gate"), worked.meaning, "bold")
    rest = {
        "present.source": worked.source,
        "terminal.calc_limits": worked.limits,
        "terminal.calc_care": worked.caution,
    }
    for key, text in rest.items():
        if text:
            screen.pair(say(key), text)
