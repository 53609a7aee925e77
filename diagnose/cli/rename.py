"""`diagnose rename`: a visit is called by something to find it by."""

import argparse

from diagnose.cli.shared import screen_of, visit_of
from diagnose.store.moved import rename, words_of
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", help=say("cli.rename_which"))
    parser.add_argument("to", nargs="?", default="", metavar="WORDS", help=say("cli.rename_to"))


def run(args: argparse.Namespace) -> int:
    """Says how to undo it."""
    old = visit_of(args)
    new = rename(old, args.to)
    back = words_of(old.stem)
    screen_of(args).row("", say("cli.renamed", old=old.stem, new=new.stem, back=back).rstrip())
    return 0
