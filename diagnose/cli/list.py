"""`diagnose list`: the visits of the folder, newest first."""

import argparse

from diagnose.cli.shared import knowledge_of, screen_of, visits_of
from diagnose.store.visits import listing
from diagnose.words import say


def add_options(_: argparse.ArgumentParser) -> None:
    """None of its own."""


def run(args: argparse.Namespace) -> int:
    """Visits, newest first."""
    screen, folder = screen_of(args), visits_of(args)
    complaints, empty = knowledge_of(args).complaints, True
    for visit in listing(folder):
        empty = False
        state = say("cli.list_concluded") if visit.concluded else say("cli.list_open")
        said = complaints[visit.complaint].says if visit.complaint in complaints else visit.complaint
        what = ", ".join(filter(None, (visit.site, said, say("cli.list_answers", n=visit.answers), state)))
        screen.hanging(f"{visit.name}  ", what + (f" - {visit.damage}" if visit.damage else ""))
    if empty:
        screen.line(say("cli.list_none", folder=folder))
    return 0
