"""Reads lines for every prompt of a visit: Ctrl-C drops a line once, then leaves; the end of input leaves."""

from collections.abc import Callable, Mapping, Sequence

from diagnose.session.parse import number_of, yes_or_no
from diagnose.terminal.commands import command_in, words
from diagnose.terminal.reader import LONGEST_LINE, Check, Reader
from diagnose.terminal.screen import Screen
from diagnose.words import say

ALWAYS = ("help", "back", "leave")  # commands at every prompt


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
                self.screen.line(say("terminal.dropped"))
                continue
            if len(typed) <= LONGEST_LINE:
                return typed
            self.screen.line(say("terminal.too_long", most=f"{LONGEST_LINE:,}"))

    def said(self, hint: str = "", known: Sequence[str] = (), topic: str = "") -> str:
        """One line of anything, where only help, back and leave are commands. Raises Leave, GoBack."""
        hint = hint or say("terminal.own_words_help")
        while True:
            typed = self.line([*known, *words(ALWAYS)], topic=topic)
            command, _ = command_in(typed, ALWAYS)
            if command == "leave":
                raise Leave
            if command == "back":
                raise GoBack
            if command != "help":
                return typed
            self.screen.line(say("terminal.opening_help", hint=hint))

    def choose(self, options: Mapping[str, str], hint: str, other: Callable[[str], None] | None = None) -> str:
        """The id of one of the numbered options, by its number or its id. Raises Leave, GoBack, and what `other`
        raises at a line that is none of them."""
        self.screen.numbered(options.values())
        while True:
            typed = self.said(hint, list(options))
            if typed.casefold() in options:
                return typed.casefold()
            if number := number_of(typed, len(options)):
                return list(options)[number - 1]
            if other:
                other(typed)
            self.screen.line(say("terminal.number_please", most=len(options)))

    def decided(self, topic: str = "", others: Sequence[str] = ()) -> str:
        """'yes', 'no', '' for Enter, or one of the `others`, which are commands, with what followed it.

        Anything else is asked again.

        Raises Leave, GoBack.
        """
        known = [say("session.yes"), say("session.no"), *words(others)]
        while typed := self.said(say("terminal.yes_or_no"), known, topic):
            if decided := yes_or_no(typed) or " ".join(command_in(typed, others)).strip():
                return decided
            self.screen.line(say("terminal.yes_or_no"))
        return ""

    def agreed_or_said(self, question: str, topic: str = "") -> tuple[bool, str]:
        """Whether the person says yes, and anything else that was said instead of yes or no. Raises Leave, GoBack."""
        self.screen.line(say("terminal.ask_yes_no", question=question))
        typed = self.said(say("terminal.yes_or_no"), [say("session.yes"), say("session.no")], topic)
        decided = yes_or_no(typed)
        return decided == "yes", "" if decided else typed

    def agreed(self, question: str, topic: str = "") -> bool:
        """Whether the person says yes. Raises Leave, GoBack."""
        self.screen.line(say("terminal.ask_yes_no", question=question))
        return self.decided(topic) == "yes"
