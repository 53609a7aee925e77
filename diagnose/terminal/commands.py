"""The words that can be typed on a visit. What they are called stands in the catalogue; here they have their ids."""

from collections.abc import Iterable

from diagnose.session.parse import spoken_for
from diagnose.words import say

WITHOUT_ANSWER = ("unknown", "cannot", "skip", "else")  # told beside the commands; read with the answers
COMMANDS = (
    "help",
    "why",
    "likely",
    "chain",
    "workings",
    "cautions",
    "back",
    "change",
    "keep",
    "answers",
    "gear",
    "tell",
    "conclude",
    "leave",
)
AFTER = ("remedy", "repaired", "close", "sheet", "more")  # what a conclusion offers besides
BESIDE = ("note", "correct", "picture", "takeover")
UNLESS_ANSWER = (*AFTER, *BESIDE)  # at a question these are taken where they are no answer to it
EVERY = (*AFTER, *COMMANDS, *BESIDE)
LOOK_AT = ("sheet", "likely", "answers", "cautions", "help", "leave")
ENDED = ("reopen", "takeover", "back", "note", "correct", "picture", *LOOK_AT)
WITH_MORE = ("change", "gear", "tell", "remedy", "note", "correct", "picture")  # a number or words may follow


def word(command: str) -> str:
    """What a person types for a command."""
    return spoken_for(f"terminal.words_{command}")[0]


def words(commands: Iterable[str]) -> list[str]:
    return [word(command) for command in commands]


def told(commands: Iterable[str]) -> list[tuple[str, str]]:
    """(word, what it does) for each command."""
    return [(word(command), say(f"terminal.does_{command}")) for command in commands]


def command_in(typed: str, commands: Iterable[str] = COMMANDS) -> tuple[str, str]:
    """(command, what follows it), or ('', '') when the line is none of these commands."""
    first, _, rest = typed.strip().partition(" ")
    lowered = first.casefold()
    found = next((c for c in commands if lowered in spoken_for(f"terminal.words_{c}")), "")
    return (found, rest.strip()) if found and (not rest or found in WITH_MORE) else ("", "")
