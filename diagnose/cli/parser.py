"""The parser: every command by name, the options of the program, and those of the commands that are named.

A command is a module of this folder: `add_options(parser)` adds its options, `run(args)` returns its exit code.
"""

import argparse
from collections.abc import Collection, Sequence
from importlib import import_module
from types import ModuleType
from typing import Any

from diagnose import __version__
from diagnose.cli.helpful import Parser
from diagnose.words import say

COMMANDS = (
    "start",
    "resume",
    "list",
    "show",
    "replay",
    "check-knowledge",
    "simulate",
    "cases",
    "calc",
    "record",
    "handover",
    "takeover",
    "history",
    "overview",
    "profile",
    "frequencies",
    "triplog",
    "practice",
    "explain",
    "explain-cause",
    "serve",
    "user",
    "offline",
    "card",
    "functions",
    "languages",
    "paths",
    "settings",
    "rename",
    "delete",
    "backup",
    "restore",
    "completion",
    "man",
)
EXAMPLES = 4


def module_of(command: str) -> ModuleType:
    """The module of a command; imported only when it is wanted, for a quick start."""
    return import_module(f"diagnose.cli.{command.replace('-', '_')}")


def parser(words: Collection[str] = COMMANDS) -> Parser:
    """All commands, with the options of those among `words`: what is typed, or every command."""
    top = Parser(
        prog="diagnose",
        description=say("cli.description"),
        epilog=_examples(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=say("cli.version", version=__version__))
    _common_options(top)
    visit_options(top)
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    for word in COMMANDS:
        command = commands.add_parser(word, help=say(f"cli.does_{word.replace('-', '_')}"))
        if word in words:
            module_of(word).add_options(command)
            _common_options(command, again=True)
    return top


def language_in(given: Sequence[str]) -> str:
    """What --lang says, wherever it stands: needed before the options are described. '' without it."""
    early = argparse.ArgumentParser(prog="diagnose", add_help=False)
    early.add_argument("--lang", default="")
    return str(early.parse_known_args(given)[0].lang)


def _examples() -> str:
    lines = (f"  {say(f'cli.example_{number}')}" for number in range(1, EXAMPLES + 1))
    return "\n".join([say("cli.examples"), *lines])


def _common_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    """Options that may stand before or after a command; the second place leaves the first one's value alone."""

    def add(flag: str, default: object, text: str, **more: Any) -> None:
        command.add_argument(flag, default=argparse.SUPPRESS if again else default, help=text, **more)

    add("--knowledge", "", say("cli.option_knowledge"), metavar="FOLDER")
    add("--visits", "", say("cli.option_visits"), metavar="FOLDER")
    add("--lang", "", say("cli.option_lang"), metavar="CODE")
    add("--plain", False, say("cli.option_plain"), action="store_true")
    add("--width", 0, argparse.SUPPRESS, type=int)


def force_option(command: argparse.ArgumentParser) -> None:
    """What every command has that writes a file for people."""
    command.add_argument("--force", action="store_true", help=say("cli.option_force"))


def visit_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    """What a visit begins with; said before `start` or after it."""
    default = argparse.SUPPRESS if again else None
    role = command.add_mutually_exclusive_group()
    for flag, text in (
        ("--help-desk", "cli.option_help_desk"),
        ("--technician", "cli.option_technician"),
        ("--electrician", "cli.option_electrician"),
    ):
        role.add_argument(flag, action="store_true", help=say(text), default=default or False)
    command.add_argument("--sensors", default=default, metavar="KINDS", help=say("cli.option_sensors"))
    command.add_argument("--gear", default=default, metavar="WORDS", help=say("cli.option_gear"))
    command.add_argument("--device", default=default, metavar="PROFILE", help=say("cli.option_device"))
    command.add_argument("--site", default=default, metavar="PROFILE", help=say("cli.option_site"))
    command.add_argument("--without", default=default, metavar="TOOLS", help=say("cli.option_without"))
    command.add_argument("--name", default=default, metavar="TEXT", help=say("present.site_called"))
    command.add_argument("--from-card", default=default, metavar="NUMBER", help=say("cli.option_from_card"))
