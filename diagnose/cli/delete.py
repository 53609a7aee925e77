"""`diagnose delete`: visits out of every list, and back again."""

import argparse

from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import screen_of, visits_of
from diagnose.errors import VisitError
from diagnose.store.history.forget import forget, remember
from diagnose.store.history.history import History
from diagnose.store.moved import aside, bring_back, deleted, put_aside
from diagnose.store.visits import find
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("names", nargs="*", metavar="NAME", help=say("cli.rename_which"))
    parser.add_argument("--undo", default="", metavar="NAME", help=say("cli.delete_undo"))
    parser.add_argument("--list", action="store_true", help=say("cli.delete_list"))
    json_option(parser)
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """A deleted visit counts in no figure either; it lies whole beside the others."""
    screen, folder = screen_of(args), visits_of(args)
    if args.list or (args.json and not args.names):
        return _list(args)
    if not args.names and not args.undo:
        raise VisitError(say("cli.delete_what"))
    paths = [find(folder, name) for name in args.names]
    with History(args.database) as history:  # first: without it nothing may leave the lists
        if args.undo:
            remember(history, deleted(folder, args.undo))
            screen.row("", say("cli.undeleted", name=bring_back(folder, args.undo).stem))
        for path in paths:
            forget(history, put_aside(path))
            screen.row("", say("cli.deleted", name=path.stem))
    return 0


def _list(args: argparse.Namespace) -> int:
    found = aside(visits_of(args))
    if args.json:
        print_json(deleted=found)
        return 0
    for name in found or [say("cli.delete_none")]:
        screen_of(args).row("", name)
    return 0
