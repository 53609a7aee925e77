"""`diagnose history`: what was found on earlier visits; the visits in the folder are taken in first."""

import argparse
import sys
from pathlib import Path

from diagnose.cli.shared import knowledge_of, screen_of, visits_of
from diagnose.errors import printable
from diagnose.store.history.history import History
from diagnose.store.history.intake import take_in
from diagnose.terminal import history as terminal
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="*")
    parser.add_argument("--place", default="", metavar="SITE", help=say("cli.history_place"))
    parser.add_argument("--kind", default="", metavar="KIND", help=say("cli.history_kind"))
    parser.add_argument("--limit", type=int, default=20, metavar="N")
    for flag, dest in (("--export", "export"), ("--import", "import_"), ("--backup", "backup")):
        parser.add_argument(flag, dest=dest, type=Path, default=None, metavar="FILE")
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """Search, or with --export, --import or --backup move the whole history."""
    kb, screen = knowledge_of(args), screen_of(args)
    with History(args.database) as history:
        for says in take_in(history, kb, visits_of(args).glob("*.visit")).values():
            print(printable(says), file=sys.stderr)
        if args.export:
            terminal.export(screen, history, args.export)
        elif args.import_:
            terminal.import_(screen, history, args.import_)
        elif args.backup:
            terminal.backup(screen, history, args.backup)
        else:
            terminal.search(screen, kb, history, " ".join(args.words), args.place, args.kind, args.limit)
    return 0
