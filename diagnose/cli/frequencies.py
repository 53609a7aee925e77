"""`diagnose frequencies`: what confirmed visits teach about how common each cause is."""

import argparse

from diagnose.cli.shared import knowledge_of, screen_of
from diagnose.cli.taken_in import take_in_all
from diagnose.store.history.history import History
from diagnose.store.learned import Overlay
from diagnose.terminal import history as terminal
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--on", action="store_true", help=say("cli.frequencies_on"))
    parser.add_argument("--off", action="store_true", help=say("cli.frequencies_off"))
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """Switched on and off deliberately; switching off needs no history."""
    screen, overlay = screen_of(args), Overlay()
    if args.off:
        terminal.learn_off(screen, overlay)
        return 0
    kb = knowledge_of(args)
    with History(args.database) as history:
        take_in_all(args, kb, history)
        terminal.learn(screen, kb, history, overlay, args.on)
    return 0
