"""`diagnose list`: the visits of the folder, newest first."""

import argparse
from collections.abc import Mapping

from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import knowledge_of, screen_of, visits_of
from diagnose.model.named import Complaint
from diagnose.store.listed import Listed
from diagnose.store.visits import listing
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Visits, newest first; in a pipe one on a line."""
    screen, folder = screen_of(args), visits_of(args)
    complaints = knowledge_of(args).complaints
    if args.json:
        print_json(visits=[*listing(folder)])
        return 0
    empty = True
    for visit in listing(folder):
        empty = False
        screen.row(f"{visit.name}  ", _says(visit, complaints))
    if empty:
        screen.line(say("cli.list_none", folder=folder))
    return 0


def _says(visit: Listed, complaints: Mapping[str, Complaint]) -> str:
    state = say("cli.list_concluded") if visit.concluded else say("cli.list_open")
    said = complaints[visit.complaint].says if visit.complaint in complaints else visit.complaint
    what = ", ".join(filter(None, (visit.site, said, say("cli.list_answers", n=visit.answers), state)))
    return what + (f" - {visit.damage}" if visit.damage else "")
