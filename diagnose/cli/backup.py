"""`diagnose backup`: everything of this machine in one file."""

import argparse
from collections.abc import Mapping
from pathlib import Path

from diagnose.cli.shared import screen_of, visits_of
from diagnose.practice.progress_file import practice_folder
from diagnose.store.backup import backup
from diagnose.store.history.history import History
from diagnose.store.learned_place import learned_path
from diagnose.store.records import records_folder
from diagnose.store.settings import settings_path
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE.zip")
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """May run while the pages are served: a visit that is being written is there up to its last whole event."""
    with History(args.database) as history:
        number = backup(args.file, folders_of(args), history)
    screen_of(args).row("", say("cli.backed_up", n=number, path=args.file.resolve(), file=args.file))
    return 0


def folders_of(args: argparse.Namespace) -> Mapping[str, Path]:
    """What a backup holds, by the name under which it holds it."""
    return {
        "visits": visits_of(args),
        "records": records_folder(),
        "practice": practice_folder(""),
        "learned": learned_path(),
        "settings": settings_path(),
    }
