"""What may be typed next, for a shell that asks: commands, options, and names of visits."""

import argparse
import os
from collections.abc import Iterable
from pathlib import Path

import argcomplete

from diagnose.cli.parser import COMMANDS, parser
from diagnose.errors import DiagnoseError
from diagnose.store.moved import aside
from diagnose.store.settings import all_set
from diagnose.store.visits import visits_folder

OPEN = ("resume", "show", "record", "handover", "takeover", "rename", "delete", "explain")  # what names a visit
NAMES = ("name", "names", "file")
LAST = "last"


def complete() -> int:
    """Writes to the shell and ends the program; only the commands on the line are read, so it is quick."""
    typed = os.environ.get("COMP_LINE", "").split()
    whole = parser(typed)
    for command in {*typed} & {*COMMANDS}:
        for action in whole.commands()[command].actions():
            if command in OPEN and action.dest in NAMES:
                action.completer = _visits  # type: ignore[attr-defined]
            elif command == "delete" and action.dest == "undo":
                action.completer = _deleted  # type: ignore[attr-defined]
    argcomplete.autocomplete(whole)
    return 0


def _visits(parsed_args: argparse.Namespace, **_: object) -> Iterable[str]:
    return [LAST, *(path.stem for path in _folder(parsed_args).glob("*.visit"))]


def _deleted(parsed_args: argparse.Namespace, **_: object) -> Iterable[str]:
    return aside(_folder(parsed_args))


def _folder(parsed_args: argparse.Namespace) -> Path:
    """As typed, else as set; a setting that cannot be read is told when the command runs."""
    try:
        chosen = all_set().get("visits")
    except DiagnoseError:
        chosen = None
    return visits_folder(parsed_args.visits or (chosen.value if chosen else ""))
