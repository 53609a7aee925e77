"""Reads one line from a person: a comfortable prompt on a terminal, plain line reading everywhere else."""

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

from diagnose.errors import AnswerError
from diagnose.terminal.screen import clean
from diagnose.words import say

LONGEST_LINE = 5_000  # characters; more is no answer
Check = Callable[[str], object] | None


class Reader(Protocol):
    """Raises EOFError at the end of input and KeyboardInterrupt on Ctrl-C."""

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        """One line, stripped.

        `words` may be completed; `check` refuses what is no answer with an AnswerError; `topic` is the id of
        the check that is asked, '' for anything else.
        """


def on_terminal() -> bool:
    """Whether a person sits at both ends; a closed stream counts as none."""
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout))


class PlainReader:
    """`input()`; without a terminal the answer is echoed, so that what is written reads well."""

    def __init__(self, echo: bool) -> None:
        self._echo = echo

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del words, check, topic
        try:
            text = input(prompt)
        except RuntimeError as error:  # standard input is closed
            raise EOFError from error
        if self._echo:
            print(clean(text[:LONGEST_LINE]))
        return text.strip()


HEARD = "heard"  # the topic of what was heard in somebody's words
ROUND = "round"  # the topic of several looks in one go


class ScriptReader:
    """Plays a script: per check the lines typed there, the last of them an answer; then the lines for the end.

    A check without a line left is answered with 'don't know' once; asked again, the script ends there.
    `pause` runs after every line.
    """

    def __init__(
        self,
        lines: Mapping[str, Sequence[str]],
        at_end: Sequence[str],
        show: Callable[[str], None],
        pause: Callable[[], None] = lambda: None,
    ) -> None:
        self._lines = {topic: list(typed) for topic, typed in lines.items()}
        self._at_end = list(at_end)
        self._show = show
        self._pause = pause
        self._unknown = set[str]()

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del words, check
        line = self._answer(topic) if topic else self._at_end.pop(0) if self._at_end else ""
        self._show(f"{prompt}{line}")
        self._pause()
        return line.strip()

    def _answer(self, topic: str) -> str:
        if waiting := self._lines.get(topic):
            return waiting.pop(0)
        if topic == HEARD:
            return ""  # takes what was heard
        if topic in self._unknown:
            self._show(say("terminal.script_too_short", check=topic))
            raise EOFError
        self._unknown.add(topic)
        return "?"


def wait_for_enter(reader: Reader) -> None:
    """Until Enter is pressed. Raises EOFError at the end of input and on Ctrl-C: both end what is shown."""
    try:
        reader.read(f"{say('terminal.enter_goes_on')} ")
    except KeyboardInterrupt:
        raise EOFError from None


class PromptReader:
    """prompt_toolkit: completion, history, and validation while typing. Imported late: it costs start-up time."""

    def __init__(self) -> None:
        os.environ.setdefault("PROMPT_TOOLKIT_NO_CPR", "1")  # slow links answer too late
        from prompt_toolkit import PromptSession
        from prompt_toolkit.shortcuts import CompleteStyle

        # Readline's way of listing completions adds lines; a menu would reserve half a small screen.
        self._session: PromptSession[str] = PromptSession(complete_style=CompleteStyle.READLINE_LIKE)

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del topic
        from prompt_toolkit.application import get_app
        from prompt_toolkit.completion import WordCompleter

        def doubt() -> str:
            text = self._session.default_buffer.text
            return "" if get_app().is_done or _readable(text, check) else say("terminal.no_answer_yet")

        completer = WordCompleter(list(words), ignore_case=True, sentence=True)
        return self._session.prompt(prompt, completer=completer, rprompt=doubt).strip()


def _readable(text: str, check: Check) -> bool:
    """Whether what is typed so far would be taken; nothing typed is no reason to complain."""
    try:
        return check is None or not text.strip() or check(text) is not None
    except AnswerError:
        return False


def choose_reader(plain: bool) -> Reader:
    """The comfortable reader on a capable terminal, the plain one everywhere else."""
    dumb = os.environ.get("TERM", "dumb") == "dumb" or bool(os.environ.get("ACCESSIBLE"))
    if plain or dumb or not on_terminal():
        return PlainReader(echo=not on_terminal())
    try:
        return PromptReader()
    except Exception:  # a terminal it does not support: the plain path always works
        return PlainReader(echo=False)
