"""What is asked before a check or a remedy: expectation, suspects, precautions. Help and back work there."""

from collections.abc import Callable, Sequence

from diagnose.errors import AnswerError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.moves import Beliefs
from diagnose.present.cautions import Cautions
from diagnose.present.practice import AskedOnce
from diagnose.session.parse import number_of, spoken_for
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.practice_words import command_in, stated_beliefs, word
from diagnose.terminal.screen import Screen
from diagnose.words import say

BEFORE = ("causes", "parts", "answers", "cautions", "suspect", "what")  # looked up without leaving the question


class Before:
    """Questions before one move. `look_up` carries out a command that only shows something; `wrote` says whether
    suspects were written; `note` writes them down."""

    def __init__(
        self,
        kb: KnowledgeBase,
        screen: Screen,
        asker: Asker,
        look_up: Callable[[str, str], None],
        wrote: Callable[[], bool],
        note: Callable[[str], None],
    ) -> None:
        self._kb, self._screen, self._asker = kb, screen, asker
        self._look_up, self._wrote, self._note = look_up, wrote, note

    def line(self, help_says: Callable[[], None], known: Sequence[str] = ()) -> str:
        """One line that is no command. Raises Leave, GoBack."""
        while True:
            typed = self._asker.line([*known, word("help"), word("back"), word("leave")])
            command, rest = command_in(typed)
            if command == "leave" and not rest:
                raise Leave
            if command == "back" and not rest:
                raise GoBack
            if command == "help":
                help_says()
            elif command in BEFORE:
                self._look_up(command, rest)
            elif command and not rest:
                self._screen.line(say("practice.answer_first"))
            else:
                return typed

    def expects(self, asked: AskedOnce, help_says: Callable[[], None]) -> str:
        """The state that is expected, '' for none."""
        self._screen.numbered(says for _, says in asked.states)
        self._screen.line(say("practice.ask_expectation"))
        number = number_of(self.line(help_says), len(asked.states))
        return asked.states[number - 1][0] if number else ""

    def beliefs(self, causes: Sequence[str], listed: Sequence[str], help_says: Callable[[], None]) -> Beliefs:
        """Suspects with percentages; own words without any are written down, and nothing more is asked."""
        self._screen.line(say("practice.ask_suspects") if self._wrote() else say("practice.ask_own_suspects"))
        while True:
            typed = self.line(help_says)
            if typed and not any(c.isdigit() for c in typed):
                self._note(typed)
                return ()
            try:
                return stated_beliefs(self._kb, causes, listed, typed)
            except AnswerError as error:
                if not self._wrote():
                    self._note(typed)
                    return ()
                self._screen.line(say("terminal.not_understood", why=error))

    def prepared(self, cautions: Cautions, help_says: Callable[[], None]) -> bool:
        """Whether the precautions, which were shown before, are taken."""
        if not cautions.ids:
            return True
        prepare = spoken_for("practice.words_prepare")
        self._screen.line(say("practice.ask_prepare", prepare=prepare[0]))
        return self.line(help_says, [prepare[0]]).casefold() in prepare
