"""`diagnose profile`: make a device or site profile by asking."""

import argparse
from pathlib import Path

from diagnose.cli.shared import screen_of
from diagnose.errors import VisitError
from diagnose.store.atomic import give_file
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.profile_form import ask_profile
from diagnose.terminal.reader import choose_reader


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=("device", "site"))
    parser.add_argument("-o", "--output", default="", metavar="FILE", help="default: device.yaml or site.yaml")


def run(args: argparse.Namespace) -> int:
    """2 when the person left before the end."""
    screen, target = screen_of(args), Path(args.output or f"{args.kind}.yaml")
    if target.exists():
        raise VisitError(f"{target} exists already; choose another name with -o FILE")
    try:
        text = ask_profile(args.kind, screen, Asker(screen, choose_reader(args.plain)))
    except Leave:
        screen.line("Left; no profile was written.")
        return 2
    give_file(target, text.encode(), "-o FILE")
    screen.line(f"{target}: use it with 'diagnose --{args.kind} {target}'.")
    return 0
