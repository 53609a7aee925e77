"""`diagnose explain`: step through a visit or a script, with the bars of belief moving after every answer."""

import argparse
import sys
from functools import partial
from pathlib import Path

from diagnose.cli.shared import knowledge_of, screen_of, visit_of
from diagnose.core.reason import Reasoner
from diagnose.errors import VisitError, printable
from diagnose.practice.frames import frames
from diagnose.session.events import Event
from diagnose.session.session import opened
from diagnose.store.journal import read
from diagnose.terminal.practice_explain import draw_frames
from diagnose.terminal.reader import Reader, choose_reader, on_terminal, wait_for_enter
from diagnose.terminal.replay import script_events
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", default="last", help=say("cli.explain_name"))


def run(args: argparse.Namespace) -> int:
    """Waits for Enter between the steps where somebody is there to press it."""
    reasoner, screen, reader = Reasoner(knowledge_of(args)), screen_of(args), choose_reader(args.plain)
    draw_frames(screen, reasoner.kb, frames(reasoner, _events(reasoner, args), tell=_tell), partial(_pause, reader))
    return 0


def _tell(says: str) -> None:
    print(printable(says), file=sys.stderr)


def _pause(reader: Reader) -> None:
    if on_terminal():
        wait_for_enter(reader)


def _events(reasoner: Reasoner, args: argparse.Namespace) -> list[Event]:
    if (script := Path(args.name)).suffix == ".yaml":
        return script_events(reasoner, script)
    path, told = visit_of(args), list[str]()
    found = read(path)
    if not found.events:
        raise VisitError(found.says(path.name) or say("cli.nothing_saved", path=path))
    events = list(opened(reasoner.kb, found.events, told))
    for says in filter(None, (found.says(path.name), *told)):
        _tell(says)
    return events
