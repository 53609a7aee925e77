"""`diagnose takeover`: go on with a visit file that somebody handed over."""

import argparse
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from diagnose.cli.shared import carry_on, reasoner_of, salvaged, screen_of, visits_of
from diagnose.core.reason import Reasoner
from diagnose.present.answers import answers_of
from diagnose.session.events import TakeOver
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store import visits
from diagnose.store.history.lineage import clash
from diagnose.store.journal import Journal, read
from diagnose.store.photos import bring, lacking, told_in
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import choose_reader
from diagnose.terminal.screen import Screen
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help=say("cli.takeover_file"))
    parser.add_argument("--electrician", action="store_true", default=False, help=say("cli.takeover_electrician"))
    parser.add_argument("--by", default="", metavar="NAME", help=say("cli.takeover_by"))


def run(args: argparse.Namespace) -> int:
    """In one's own role, every answer to confirm or correct: a visit of this machine itself, or a copy of a file."""
    return _copy(args) if args.file.is_file() else _here(args)


def _here(args: argparse.Namespace) -> int:
    screen, reasoner = screen_of(args), reasoner_of(args)
    path = visits.find(visits_of(args), str(args.file))
    opened, found = Journal.reopen(path)
    with opened as journal:
        reasoner, before = salvaged(reasoner, path, found, screen.line)
        event = TakeOver(replace(before.setup, role="technician", electrician=args.electrician, tools=None), args.by)
        session = step(reasoner.kb, before, event)
        journal.append(event)
        _go_on(reasoner, session, journal, screen, args.plain)
    return 0


def _go_on(reasoner: Reasoner, session: Session, journal: Journal, screen: Screen, plain: bool) -> None:
    draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
    screen.line(say("cli.took_over"))
    carry_on(reasoner, session, journal, screen, choose_reader(plain))


def _copy(args: argparse.Namespace) -> int:
    screen, reasoner = screen_of(args), reasoner_of(args)
    found = read(args.file)
    reasoner, before = salvaged(reasoner, args.file, found, screen.line)
    setup = replace(before.setup, role="technician", electrician=args.electrician, tools=None)
    event = TakeOver(setup, args.by)
    session = step(reasoner.kb, before, event)
    with Journal.copied(visits_of(args), datetime.now(), found, event) as journal:
        names = told_in(found.events)
        bring(args.file, journal.path, names)
        if says := lacking(journal.path, names):
            screen.line(says)
        if says := clash(journal.path):
            screen.line(says, "bold")
        _go_on(reasoner, session, journal, screen, args.plain)
    return 0
