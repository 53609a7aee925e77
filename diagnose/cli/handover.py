"""`diagnose handover`: copy a visit file for somebody else."""

import argparse
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import screen_of, visit_of
from diagnose.errors import VisitError
from diagnose.store.atomic import give_file
from diagnose.store.journal import read
from diagnose.store.photos import bring, folder_of, lacking, told_in
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last")
    parser.add_argument("-o", "--output", default="", metavar="FILE")
    force_option(parser)


def run(args: argparse.Namespace) -> int:
    """A damaged file is not given away."""
    path = visit_of(args)
    found = read(path)
    if found.broken:
        raise VisitError(say("cli.handover_damaged", damage=found.says(path.name), name=path.stem))
    target = Path(args.output) if args.output else Path(path.name)
    target = target / path.name if target.is_dir() else target
    if target.exists() and target.samefile(path):
        raise VisitError(say("cli.handover_itself", path=target))
    give_file(target, path.read_bytes(), "-o FILE", args.force)
    screen = screen_of(args)
    if says := found.says(path.name):
        screen.line(says)
    screen.line(say("cli.handed_over", path=target, file=target.name))
    names = told_in(found.events)
    if brought := bring(path, target, names, shared=True):
        screen.line(say("cli.handed_over_pictures", n=brought, folder=folder_of(target)))
    if says := lacking(path, names):
        screen.line(says)
    return 0
