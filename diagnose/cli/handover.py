"""`diagnose handover`: copy a visit file for somebody else."""

import argparse
from pathlib import Path

from diagnose.cli.shared import screen_of, visit_of
from diagnose.errors import VisitError
from diagnose.store.atomic import SHARED, replace_file
from diagnose.store.journal import read


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last")
    parser.add_argument("-o", "--output", default="", metavar="FILE")


def run(args: argparse.Namespace) -> int:
    """A damaged file is not given away."""
    path = visit_of(args)
    if damage := read(path).damage:
        raise VisitError(f"{path.name}: {damage}; 'diagnose resume {path.stem}' mends it first")
    target = Path(args.output) if args.output else Path(path.name)
    target = target / path.name if target.is_dir() else target
    try:
        if target.exists() and target.samefile(path):
            raise VisitError(f"{target} is the visit itself; choose another place with -o FILE")
        replace_file(target, path.read_bytes(), SHARED)
    except OSError as error:
        raise VisitError(f"cannot write {target}: {error.strerror}; choose another place with -o FILE") from error
    screen_of(args).line(f"{target}: 'diagnose takeover {target.name}' opens it on another machine.")
    return 0
