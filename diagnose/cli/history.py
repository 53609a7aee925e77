"""`diagnose history`: what was found on earlier visits; the visits in the folder are taken in first."""

import argparse
from pathlib import Path

from diagnose.cli.dates import date_options, span_of
from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import knowledge_of, screen_of, visits_of
from diagnose.cli.taken_in import take_in_all
from diagnose.errors import VisitError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store import visits
from diagnose.store.history import intake
from diagnose.store.history.history import History
from diagnose.terminal import history as terminal
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="*")
    parser.add_argument("--place", default="", metavar="SITE", help=say("cli.history_place"))
    parser.add_argument("--kind", default="", metavar="KIND", help=say("cli.history_kind"))
    parser.add_argument("--limit", type=int, default=20, metavar="N")
    date_options(parser)
    json_option(parser)
    parser.add_argument("--export", type=Path, default=None, metavar="FILE", help=say("cli.history_export"))
    for flag, dest in (("--import", "import_"), ("--backup", "backup")):
        parser.add_argument(flag, dest=dest, type=Path, default=None, metavar="FILE")
    parser.add_argument("--keep", default="", metavar="NAME", help=say("cli.history_keep"))
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """Search, or with --export, --import or --backup move the whole history."""
    kb, screen = knowledge_of(args), screen_of(args)
    with History(args.database) as history:
        take_in_all(args, kb, history)
        if args.keep:
            return _keep(args, kb, history)
        if args.export:
            terminal.export(screen, kb, history, args.export)
        elif args.import_:
            terminal.import_(screen, history, args.import_)
        elif args.backup:
            terminal.backup(screen, history, args.backup)
        else:
            wanted = terminal.Wanted(" ".join(args.words), args.place, args.kind, args.limit, span_of(args))
            found = terminal.searched(kb, history, wanted)
            names = dict(intake.names(history, visits_of(args)))
            if args.json:
                print_json(visits=[{"name": names.get(record.id, "")} | terminal.plain(record) for record in found])
            else:
                terminal.draw_found(screen, kb, found, names, args.limit)
    return 0


def _keep(args: argparse.Namespace, kb: KnowledgeBase, history: History) -> int:
    """Of two visits with one number the person has chosen this one."""
    path = visits.find(visits_of(args), args.keep)
    if not intake.decide(history, kb, path):
        raise VisitError(say("cli.history_not_kept", name=path.stem))
    screen_of(args).line(say("cli.history_kept", name=path.stem))
    return 0
