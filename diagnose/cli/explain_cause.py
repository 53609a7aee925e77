"""`diagnose explain-cause`: what a cause shows as it is compiled, and where each number comes from."""

import argparse

from diagnose.cli.shared import knowledge_of, screen_of
from diagnose.errors import KnowledgeError
from diagnose.present.explained import explained
from diagnose.store.profiles import profile_facts
from diagnose.terminal.draw import draw_explained
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("cause", help=say("cli.cause_id"))
    parser.add_argument("--device", default="", metavar="PROFILE", help=say("cli.cause_device"))


def run(args: argparse.Namespace) -> int:
    """The ways of the cause along the chain, then every finding with its states and what shows them."""
    kb = knowledge_of(args)
    if args.cause not in kb.causes:
        raise KnowledgeError(say("cli.no_such_cause", name=args.cause, count=len(kb.causes)))
    draw_explained(screen_of(args), explained(kb, args.cause, profile_facts(filter(None, (args.device,)))))
    return 0
