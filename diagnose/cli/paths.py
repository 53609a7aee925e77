"""`diagnose paths`: where things lie."""

import argparse

from diagnose.kb.files import shipped_folder
from diagnose.store.visits import visits_folder
from diagnose.words import say


def add_options(_: argparse.ArgumentParser) -> None:
    """None of its own."""


def run(args: argparse.Namespace) -> int:
    """Says also where nothing lies yet."""
    print(say("cli.path_visits", path=visits_folder(args.visits)))
    print(say("cli.path_knowledge", path=args.knowledge or shipped_folder("knowledge")))
    return 0
