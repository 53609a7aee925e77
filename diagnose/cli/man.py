"""`diagnose man`: the manual page, made from the parser itself, so that it never says anything else."""

import argparse
from collections.abc import Iterator

from diagnose import __version__
from diagnose.cli.helpful import Parser
from diagnose.cli.parser import parser
from diagnose.store.settings import NAMES, PREFIX, settings_path
from diagnose.words import say

NAME = "diagnose"
CODES = (0, 1, 2, 130)
SECTION_ONE = "1"
HIDDEN = argparse.SUPPRESS


def add_options(_: argparse.ArgumentParser) -> None:
    """None of its own."""


def run(_: argparse.Namespace) -> int:
    """For `man -l -`, or for a file diagnose.1 in a folder of manuals."""
    print("\n".join(page(parser())))
    return 0


def page(whole: Parser) -> Iterator[str]:
    """Lines of roff with the usual macros for manuals."""
    yield f'.TH {NAME.upper()} {SECTION_ONE} "" "{say("cli.version", version=__version__)}"'
    yield from _section("cli.man_name", f"{NAME} \\- {_text(whole.description or '')}")
    yield from _section("cli.man_synopsis", f".B {NAME}", say("cli.man_line"))
    yield from _section("cli.man_options", *_options(whole))
    helps = {a.dest: a.help for action in whole.actions() for a in getattr(action, "_choices_actions", ())}
    yield from _section("cli.man_commands")
    for name, command in whole.commands().items():
        yield f".SS {_text(name)}"
        yield _text(helps.get(name) or "")
        yield from _options(command, own=True)
    yield from _section("cli.man_settings", _text(say("cli.settings_file", path=settings_path().name)))
    for name in NAMES:
        yield from _item(f"{name}, {PREFIX}{name.upper()}", say(f"cli.settings_{name}"))
    yield from _section("cli.man_exit")
    for code in CODES:
        yield from _item(str(code), say(f"cli.man_exit_{code}"))


def _section(key: str, *lines: str) -> Iterator[str]:
    yield f".SH {say(key)}"
    yield from lines


def _options(command: Parser, own: bool = False) -> Iterator[str]:
    """Its options and what it is given; of a command only those that are not the program's own."""
    for action in command.actions():
        shared = own and action.default == HIDDEN and action.dest in ("knowledge", "visits", "lang", "plain")
        if action.help == HIDDEN or action.dest in ("help", "command") or shared:
            continue
        takes = "" if action.nargs == 0 else f" {action.metavar or action.dest.upper()}"
        names = ", ".join(action.option_strings)
        yield from _item(f"{names}{takes}" if names else takes.strip(), action.help or "")


def _item(what: str, says: str) -> Iterator[str]:
    yield from (".TP", f".B {_text(what)}", _text(says))


def _text(text: str) -> str:
    """Harmless for roff: its sign for commands, and hyphens that can be copied."""
    safe = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{safe}" if safe.startswith((".", "'")) else safe
