"""`diagnose resume`: go on with a visit."""

import argparse

from diagnose.cli.shared import carry_on, reasoner_of, salvaged, screen_of, visit_of
from diagnose.present.answers import answers_of
from diagnose.session.session import conclude
from diagnose.store.journal import Journal
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import choose_reader


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last", help="its name or the start of it; default: the last")


def run(args: argparse.Namespace) -> int:
    """A damaged end is cut off after a copy was kept."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    path = visit_of(args)
    opened, found = Journal.reopen(path)
    with opened as journal:
        if found.damage:
            screen.line(f"{path.name}: {found.damage}. A copy of the damaged file lies beside it.", "bold")
        session = salvaged(reasoner, path, found, screen.line)
        draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
        carry_on(reasoner, session, journal, screen, choose_reader(args.plain))
    return 0
