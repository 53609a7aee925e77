"""`diagnose show`: the answers of one visit and what follows from them."""

import argparse
import json
import sys
from pathlib import Path

from diagnose.cli.shared import reasoner_of, salvaged, screen_of, visit_of
from diagnose.core.reason import Reasoner
from diagnose.errors import printable
from diagnose.present.answers import answers_of
from diagnose.present.conclusion import result_of
from diagnose.present.notices import orders_of
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude
from diagnose.store.journal import read
from diagnose.terminal.draw import draw_answers, draw_orders
from diagnose.terminal.result import draw_whole


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last")
    parser.add_argument("--json", action="store_true")


def run(args: argparse.Namespace) -> int:
    """One visit: answers and what follows from them."""
    path = visit_of(args)
    show(args, reasoner_of(args), path)
    return 0


def show(args: argparse.Namespace, reasoner: Reasoner, path: Path) -> None:
    """A visit file, drawn or as one JSON object. Raises VisitError."""
    found = read(path)
    reasoner, session = salvaged(reasoner, path, found, lambda text: print(printable(text), file=sys.stderr))
    conclusion = conclude(reasoner, session)
    if args.json:
        print(json.dumps(as_plain(reasoner, session, conclusion), indent=1))
        return
    screen = screen_of(args)
    draw_answers(screen, answers_of(reasoner.kb, session, conclusion))
    draw_orders(screen, orders_of(reasoner.kb, conclusion))
    draw_whole(screen, result_of(reasoner, session, conclusion))
