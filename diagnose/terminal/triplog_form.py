"""What the files of a log do not say, asked on one screen: the list, then one line for each, with back and help."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.errors import DiagnoseError
from diagnose.session.parse import number_of
from diagnose.terminal.ask import Asker, GoBack
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.records import TripLogError
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class FormLine:
    """One question about one file. Without options any line is an answer that `check` does not refuse."""

    file: str
    question: FileQuestion
    check: Callable[[str], object] = lambda _: None

    @property
    def key(self) -> str:
        """What the answer is kept under."""
        return self.question.key


def filled(items: Sequence[FormLine], asker: Asker | None) -> dict[str, str]:
    """An answer for every key. Without anybody to ask: TripLogError with the option that says it. Raises Leave, and
    GoBack at the first."""
    items = list({item.key: item for item in items}.values())
    if not items:
        return {}
    if asker is None:
        raise TripLogError("\n".join(_option_says(item) for item in items))
    asker.screen.heading(say("triplog.not_said", n=len(items)))
    for number, item in enumerate(items, start=1):
        asker.screen.hanging(f"{number:3d}. ", f"{item.file}: {item.question.asks}")
    return _walked(items, asker)


def _option_says(item: FormLine) -> str:
    question = item.question
    if not question.options:
        return say("triplog.say_it", asks=question.asks, option=question.option)
    known = "; ".join(f"{key}: {text}" for key, text in question.options.items())
    return say("triplog.say_it_with", file=item.file, asks=question.asks, option=question.option, known=known)


def _walked(items: list[FormLine], asker: Asker) -> dict[str, str]:
    """Item by item; 'back' takes the one before again."""
    answers: dict[str, str] = {}
    shown: Mapping[str, str] = {}
    at = 0
    while at < len(items):
        item = items[at]
        if item.question.options != shown:
            shown = item.question.options
            asker.screen.line()
            asker.screen.numbered(shown.values())
        try:
            answers[item.key] = _answered(item, at + 1, asker)
        except GoBack:
            if at == 0:
                raise
            at -= 1
            continue
        at += 1
    return answers


def _answered(item: FormLine, number: int, asker: Asker) -> str:
    options, screen = item.question.options, asker.screen
    screen.line()
    screen.hanging(f"{number:3d}. ", item.question.asks, "bold")
    while True:
        typed = asker.said(say("triplog.form_help"), list(options))
        if not options and (why := _refused(item, typed)):
            screen.line(why)
        elif not options:
            return typed.strip()
        elif typed.casefold() in options:
            return typed.casefold()
        elif chosen := number_of(typed, len(options)):
            return list(options)[chosen - 1]
        else:
            screen.line(say("terminal.number_please", most=len(options)))


def _refused(item: FormLine, typed: str) -> str:
    try:
        item.check(typed)
    except DiagnoseError as error:
        return str(error)
    return ""
