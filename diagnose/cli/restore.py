"""`diagnose restore`: a backup brought back; what is there is never written over."""

import argparse
from pathlib import Path

from diagnose.cli.backup import folders_of
from diagnose.cli.shared import screen_of
from diagnose.store.backup import restore
from diagnose.store.history.history import History
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE.zip")
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """1 where something else is there already under a name of the backup."""
    screen = screen_of(args)
    with History(args.database) as history:
        brought = restore(args.file, folders_of(args), history)
    screen.row("", say("cli.restored", new=brought.new, same=brought.same, visits=brought.visits))
    for path in brought.kept:
        screen.row("", say("cli.restore_kept", path=path))
    return 1 if brought.kept else 0
