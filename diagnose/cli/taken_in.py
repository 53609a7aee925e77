"""Visit files into the history, for every command that asks it: apart from `shared`, as it loads the database."""

import argparse
import sys

from diagnose.cli.shared import visits_of
from diagnose.errors import printable
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.history.history import History
from diagnose.store.history.intake import take_in


def take_in_all(args: argparse.Namespace, kb: KnowledgeBase, history: History) -> None:
    """The history knows every visit of the folder then; what is wrong in a file is said, whoever asks."""
    for says in take_in(history, kb, visits_of(args).glob("*.visit")).values():
        print(printable(says), file=sys.stderr)
