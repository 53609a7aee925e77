"""`diagnose calc`: the calculators for use by hand."""

import argparse

from diagnose.cli.shared import screen_of
from diagnose.terminal import calculate
from diagnose.terminal.reader import choose_reader
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="*", metavar=say("cli.calc_metavar"), help=say("cli.calc_words"))


def run(args: argparse.Namespace) -> int:
    """Lists, works out, or asks."""
    return calculate.run(args.words, screen_of(args), choose_reader(args.plain))
