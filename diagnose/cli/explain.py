"""`diagnose explain`: step through a visit or a script, with the bars of belief moving after every answer."""

import argparse
from functools import partial
from pathlib import Path

from diagnose.cli.shared import knowledge_of, screen_of, visit_of
from diagnose.core.reason import Reasoner
from diagnose.practice.frames import frames
from diagnose.session.events import Event
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
    draw_frames(screen, reasoner.kb, frames(reasoner, _events(reasoner, args)), partial(_pause, reader))
    return 0


def _pause(reader: Reader) -> None:
    if on_terminal():
        wait_for_enter(reader)


def _events(reasoner: Reasoner, args: argparse.Namespace) -> list[Event]:
    path = Path(args.name)
    return script_events(reasoner, path) if path.suffix == ".yaml" else list(read(visit_of(args)).events)
