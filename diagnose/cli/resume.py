"""`diagnose resume`: go on with a visit."""

import argparse

from diagnose.cli.shared import carry_on, reasoner_of, salvaged, screen_of, visit_of
from diagnose.present.answers import answers_of
from diagnose.session.session import conclude
from diagnose.store.journal import Journal
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import choose_reader
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last", help=say("cli.resume_name"))


def run(args: argparse.Namespace) -> int:
    """What is whole of a damaged file is written anew; the file as it was is kept beside it."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    path = visit_of(args)
    opened, found = Journal.reopen(path)
    with opened as journal:
        reasoner, session = salvaged(reasoner, path, found, screen.line)
        draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
        carry_on(reasoner, session, journal, screen, choose_reader(args.plain))
    return 0
