"""`diagnose record`: the record of a visit, for the customer and in full."""

import argparse
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import reasoner_of, salvaged, screen_of, visit_of
from diagnose.present.record_parts import records
from diagnose.present.times import times_in
from diagnose.report.drawers import drawers
from diagnose.session.session import conclude
from diagnose.store.journal import read
from diagnose.store.photos import lacking, small
from diagnose.store.records import records_folder, write
from diagnose.words import say

ENDINGS = ("html", "pdf", "json")


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last", help=say("cli.record_name"))
    parser.add_argument("--customer", action="store_true", help=say("cli.record_customer"))
    for ending in ("html", "pdf", "json"):
        parser.add_argument(f"--{ending}", action="store_true", help=say("cli.record_ending", ending=ending))
    parser.add_argument("-o", "--output", default="", metavar="FOLDER", help=say("cli.record_output"))
    force_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write the record of a visit: customer and full version, as HTML and JSON unless told otherwise."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    path = visit_of(args)
    found = read(path)
    reasoner, session = salvaged(reasoner, path, found, screen.line)
    customer, full = records(reasoner, session, conclude(reasoner, session), times_in(found, path.name), path.stem)
    names = tuple(photo.name for photo in full.photos)
    if says := lacking(path, names):
        screen.line(says)
    wanted = [ending for ending in ENDINGS if getattr(args, ending)] or ["html", "json"]
    draw = drawers(small(path, names))
    formats = {ending: draw[ending] for ending in wanted}
    folder = Path(args.output) if args.output else records_folder()
    for written in write(customer, None if args.customer else full, folder, path.stem, formats, args.force):
        screen.line(say("cli.record_written", path=written.resolve()))
    return 0
