"""Reads one line from a person: a comfortable prompt on a terminal, plain line reading everywhere else."""

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

from diagnose.errors import AnswerError

Check = Callable[[str], object] | None


class Reader(Protocol):
    """Raises EOFError at the end of input and KeyboardInterrupt on Ctrl-C."""

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        """One line, stripped.

        `words` may be completed; `check` refuses what is no answer with an AnswerError; `topic` is the id of
        the check that is asked, '' for anything else.
        """


class PlainReader:
    """`input()`; without a terminal the answer is echoed, so that what is written reads well."""

    def __init__(self, echo: bool | None = None) -> None:
        self._echo = not sys.stdin.isatty() if echo is None else echo

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del words, check, topic
        text = input(prompt)
        if self._echo:
            print(text)
        return text.strip()


class ScriptReader:
    """Plays a script: per check the lines typed there, the last of them an answer; then the lines for the end."""

    def __init__(
        self, lines: Mapping[str, Sequence[str]], at_end: Sequence[str], show: Callable[[str], None]
    ) -> None:
        self._lines = {topic: list(typed) for topic, typed in lines.items()}
        self._at_end = list(at_end)
        self._show = show

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del words, check
        if topic:
            waiting = self._lines.setdefault(topic, [])
            line = waiting.pop(0) if waiting else "?"
        else:
            line = self._at_end.pop(0) if self._at_end else ""
        self._show(f"{prompt}{line}")
        return line.strip()


class PromptReader:
    """prompt_toolkit: completion, history, and validation while typing. Imported late: it costs start-up time."""

    def __init__(self) -> None:
        os.environ.setdefault("PROMPT_TOOLKIT_NO_CPR", "1")  # slow links answer too late
        from prompt_toolkit import PromptSession

        self._session: PromptSession[str] = PromptSession()

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del topic
        from prompt_toolkit.completion import WordCompleter
        from prompt_toolkit.validation import Validator

        def accepted(text: str) -> bool:
            try:
                return check is None or not text.strip() or check(text) is not None
            except AnswerError:
                return False

        note = "not an answer yet - Tab shows the words, Enter explains"
        return self._session.prompt(
            prompt,
            completer=WordCompleter(list(words), sentence=True),
            complete_while_typing=False,
            validator=Validator.from_callable(lambda _: True),
            bottom_toolbar=lambda: "" if accepted(self._session.default_buffer.text) else note,
        ).strip()


def choose_reader(plain: bool) -> Reader:
    """The comfortable reader on a capable terminal, the plain one everywhere else."""
    dumb = os.environ.get("TERM", "dumb") == "dumb" or bool(os.environ.get("ACCESSIBLE"))
    if plain or dumb or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return PlainReader()
    try:
        return PromptReader()
    except Exception:  # a terminal it does not support: the plain path always works
        return PlainReader()
