"""`diagnose list`: the visits of the folder, newest first."""

import argparse

from diagnose.cli.shared import screen_of, visits_of
from diagnose.store.visits import listing


def add_options(_: argparse.ArgumentParser) -> None:
    """None of its own."""


def run(args: argparse.Namespace) -> int:
    """Visits, newest first."""
    screen, folder = screen_of(args), visits_of(args)
    empty = True
    for visit in listing(folder):
        empty = False
        state = "concluded" if visit.concluded else "open"
        complaint = visit.complaint.replace("_", " ")
        what = ", ".join(filter(None, (visit.site, complaint, f"{visit.answers} answers", state)))
        screen.hanging(f"{visit.name}  ", what + (f" - {visit.damage}" if visit.damage else ""))
    if empty:
        screen.line(f"No visits yet in {folder}.")
    return 0
