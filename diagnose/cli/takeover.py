"""`diagnose takeover`: go on with a visit file that somebody handed over."""

import argparse
from dataclasses import replace
from datetime import datetime
from itertools import zip_longest
from pathlib import Path

from diagnose.cli.shared import carry_on, reasoner_of, salvaged, screen_of, visits_of
from diagnose.present.answers import answers_of
from diagnose.session.events import TakeOver
from diagnose.session.session import conclude, step
from diagnose.store.journal import Journal, read
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import choose_reader
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path)
    parser.add_argument("--electrician", action="store_true", default=False, help=say("cli.takeover_electrician"))
    parser.add_argument("--by", default="", metavar="NAME", help=say("cli.takeover_by"))


def run(args: argparse.Namespace) -> int:
    """In one's own role, with every answer to confirm or correct."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    found = read(args.file)
    reasoner, before = salvaged(reasoner, args.file, found, screen.line)
    setup = replace(before.setup, role="technician", electrician=args.electrician, tools=None)
    event = TakeOver(setup, args.by)
    session = step(reasoner.kb, before, event)
    when = map(datetime.fromisoformat, found.times)
    copied = zip_longest((*found.events, event), when)
    with Journal.copied(visits_of(args), datetime.now(), copied) as journal:
        draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
        screen.line(say("cli.took_over"))
        carry_on(reasoner, session, journal, screen, choose_reader(args.plain))
    return 0
