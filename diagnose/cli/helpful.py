"""A parser that says what may have been meant, with the usage of the command that was typed."""

import argparse
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from typing import Any, NoReturn

from diagnose.words import say

LIKE = 0.6  # how alike a word must be to be what was meant


class Parser(argparse.ArgumentParser):
    """Of the program, and of every command."""

    given: Sequence[str] = ()

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        self.given = list(args or ())
        return super().parse_known_args(args, namespace)

    def parse_args(self, args: Any = None, namespace: Any = None) -> argparse.Namespace:  # type: ignore[override]
        """What is left over is told by the command that it was typed to, not by the program."""
        found, rest = self.parse_known_args(args, namespace)
        if rest:
            command = self.commands().get(getattr(found, "command", None) or "", self)
            command.given = self.given
            command.error(say("cli.not_known", words=" ".join(rest)))
        assert isinstance(found, argparse.Namespace)
        return found

    def error(self, message: str) -> NoReturn:
        """Raises SystemExit 2."""
        meant = dict.fromkeys(near for word in self.given if word in message for near in self._near(word))
        super().error(f"{message}. {say('cli.did_you_mean', words=', '.join(meant))}" if meant else message)

    def _near(self, word: str) -> list[str]:
        """What can be typed that is like a word that cannot."""
        known = [*self._known()]
        bare = word.partition("=")[0]
        return [] if bare in known else like(bare, known)

    def _known(self) -> Iterator[str]:
        for action in self._actions:
            yield from action.option_strings
            if not action.option_strings or isinstance(action, argparse._SubParsersAction):
                yield from map(str, action.choices or ())

    def actions(self) -> Sequence[argparse.Action]:
        return self._actions

    def commands(self) -> dict[str, "Parser"]:
        """Every command's own parser."""
        found: dict[str, Parser] = {}
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                found |= action.choices
        return found


def like(word: str, known: Iterable[str], most: int = 2) -> list[str]:
    """Those of the known words that the word may be a slip of, the likest first."""
    begin = [k for k in known if word and k.startswith(word)]
    return list(dict.fromkeys((*get_close_matches(word, [*known], most, LIKE), *begin)))[:most]
