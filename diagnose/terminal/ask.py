"""Reads lines for every prompt of a visit: Ctrl-C drops a line once, then leaves; the end of input leaves."""

from collections.abc import Mapping, Sequence

from diagnose.session.parse import number_of
from diagnose.terminal.reader import LONGEST_LINE, Check, Reader
from diagnose.terminal.screen import Screen

LEAVE = ("leave", "quit", "exit", "q")


class Leave(Exception):
    """The person wants to leave, or the input has ended."""


class GoBack(Exception):
    """The person wants the question before."""


class Asker:
    """A reader with the screen it belongs to."""

    def __init__(self, screen: Screen, reader: Reader) -> None:
        self.screen = screen
        self._reader = reader

    def line(self, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        """One line. Raises Leave."""
        dropped = False
        while True:
            try:
                typed = self._reader.read("> ", words, check, topic)
            except (EOFError, KeyboardInterrupt) as stop:
                if dropped or isinstance(stop, EOFError):
                    raise Leave from None
                dropped = True
                self.screen.line("(line dropped; Ctrl-C again to leave)")
                continue
            if len(typed) <= LONGEST_LINE:
                return typed
            self.screen.line(f"(line dropped: longer than {LONGEST_LINE:,} characters)")

    def opening_line(self, words: Sequence[str], hint: str) -> str:
        """One line before the first check, where only help, back and leave are commands. Raises Leave, GoBack."""
        while True:
            typed = self.line([*words, "help", "back", "leave"])
            word = typed.casefold()
            if word in LEAVE:
                raise Leave
            if word in ("back", "b"):
                raise GoBack
            if word not in ("help", "h"):
                return typed
            self.screen.line(f"{hint} 'back' goes back, 'leave' stops.")

    def choose(self, options: Mapping[str, str], hint: str) -> str:
        """The id of one of the numbered options, by its number or its id. Raises Leave, GoBack."""
        self.screen.numbered(options.values())
        while True:
            typed = self.opening_line(list(options), hint).casefold()
            if typed in options:
                return typed
            if number := number_of(typed, len(options)):
                return list(options)[number - 1]
            self.screen.line(f"Please type a number from 1 to {len(options)}.")

    def agreed(self, question: str, topic: str = "") -> bool:
        """Whether the person says yes. Raises Leave."""
        self.screen.line(f"{question} (yes/no)")
        return self.line(["yes", "no"], topic=topic).casefold() in ("y", "yes")
