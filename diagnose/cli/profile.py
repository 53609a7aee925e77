"""`diagnose profile`: make a device or site profile by asking."""

import argparse
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import screen_of
from diagnose.store.atomic import give_file, require_free
from diagnose.store.drafts import Draft
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.drafted import DraftedReader
from diagnose.terminal.profile_form import ask_profile
from diagnose.terminal.reader import choose_reader
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", choices=("device", "site"))
    parser.add_argument("-o", "--output", default="", metavar="FILE", help=say("cli.profile_output"))
    force_option(parser)


def run(args: argparse.Namespace) -> int:
    """2 when the person left before the end."""
    screen, target = screen_of(args), Path(args.output or f"{args.kind}.yaml")
    require_free(target, "-o FILE", args.force)
    draft = Draft(target)
    if draft.before:
        screen.line(say("cli.profile_again", path=draft.path))
    if draft.says:
        screen.line(draft.says, "bold")
    try:
        text = ask_profile(args.kind, screen, Asker(screen, DraftedReader(choose_reader(args.plain), draft, screen)))
    except Leave:
        draft.done()
        screen.line(say("cli.profile_left"))
        return 2
    finally:
        draft.close()
    give_file(target, text.encode(), "-o FILE", args.force)
    draft.done()
    screen.line(say("cli.profile_written", path=target, kind=args.kind))
    return 0
