"""The parser: every command by name, the options of the program, and those of the commands that are named.

A command is a module of this folder: `add_options(parser)` adds its options, `run(args)` returns its exit code.
"""

import argparse
from collections.abc import Collection
from importlib import import_module
from types import ModuleType
from typing import Any

from diagnose import __version__

EXAMPLES = """examples:
  diagnose                          start a visit
  diagnose --help-desk              guide a caller on the phone
  diagnose resume                   go on with the last visit
  diagnose replay transcripts_demo/ghost_in_rain.yaml
"""
COMMANDS = {
    "start": "start a visit (the same as no command)",
    "resume": "go on with a visit",
    "list": "list visits, newest first",
    "show": "show a visit",
    "replay": "play a script or a visit file again",
    "check": "check a knowledge folder; every problem with file:line:column",
    "measure": "simulated visits: how often right, how many minutes",
    "cases": "field cases: how often right at gates the tool did not invent",
    "calc": "calculators for the gate: supply, contacts, scan height, sun ...",
    "record": "write the record of a visit for customer and file",
    "handover": "copy a visit file for somebody else",
    "takeover": "go on with a visit file that was handed over",
    "history": "earlier visits: by words, site or sensor kind",
    "profile": "make a device or site profile by asking",
    "learn": "what confirmed visits teach about frequencies, before and after",
    "triplog": "find the pattern in a log of nuisance trips",
    "practice": "an invented faulty gate to work on, with a coach",
    "explain": "step through a visit, a script or an exercise; the belief moves",
    "serve": "visits, calls, records and practice in a browser on this machine",
    "pack": "one HTML file that diagnoses in a browser without a network",
    "card": "a printable field card for a complaint and a sensor kind",
    "calculators": "list the calculators a knowledge base may name",
    "languages": "which languages there are, and what one does not say yet",
    "paths": "say where files are kept",
}


def module_of(command: str) -> ModuleType:
    """The module of a command; imported only when it is wanted, for a quick start."""
    return import_module(f"diagnose.cli.{command}")


def parser(words: Collection[str] = tuple(COMMANDS)) -> argparse.ArgumentParser:
    """All commands, with the options of those among `words`: what is typed, or every command."""
    top = argparse.ArgumentParser(
        prog="diagnose",
        description="Troubleshoot vehicle-detection sensors at automatic gates and barriers.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"gate-diagnose {__version__}")
    _common_options(top)
    visit_options(top)
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    for word, says in COMMANDS.items():
        command = commands.add_parser(word, help=says)
        if word in words:
            module_of(word).add_options(command)
            _common_options(command, again=True)
    return top


def _common_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    """Options that may stand before or after a command; the second place leaves the first one's value alone."""

    def add(flag: str, default: object, text: str, **more: Any) -> None:
        command.add_argument(flag, default=argparse.SUPPRESS if again else default, help=text, **more)

    add("--knowledge", "", "use this knowledge instead of the shipped one", metavar="FOLDER")
    add("--visits", "", "keep visits here instead of in your data folder", metavar="FOLDER")
    add("--lang", "", "speak this language (also DIAGNOSE_LANG): a code, or a folder of .po files", metavar="CODE")
    add("--plain", False, "no colour, plain line input (also TERM=dumb, ACCESSIBLE=1)", action="store_true")
    add("--width", 0, argparse.SUPPRESS, type=int)


def visit_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    """What a visit begins with; said before `start` or after it."""
    default = argparse.SUPPRESS if again else None
    role = command.add_mutually_exclusive_group()
    for flag, text in (
        ("--help-desk", "you are on the phone with a caller"),
        ("--technician", "you are at the gate"),
        ("--electrician", "you are at the gate and licensed for mains work"),
    ):
        role.add_argument(flag, action="store_true", help=text, default=default or False)
    command.add_argument("--sensors", default=default, metavar="KINDS", help="sensor kinds on site, e.g. laser,loop")
    command.add_argument(
        "--device", default=default, metavar="PROFILE", help="device profile (file, or a shipped id)"
    )
    command.add_argument("--site", default=default, metavar="PROFILE", help="site profile (file, or a shipped id)")
    command.add_argument(
        "--without", default=default, metavar="TOOLS", help="tools not at hand, e.g. ladder,multimeter"
    )
    command.add_argument("--name", default=default, metavar="TEXT", help="what this site is called in your list")
    command.add_argument("--from-card", default=default, metavar="NUMBER", help="go on from a field card's number")
