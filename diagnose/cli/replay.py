"""`diagnose replay`: scripts and visit files played again, and the transcripts kept beside the scripts."""

import argparse
import json
from pathlib import Path

from diagnose.cli.shared import knowledge_of, screen_of
from diagnose.cli.show import show
from diagnose.core.reason import Reasoner
from diagnose.session.plain import as_plain
from diagnose.store.atomic import give_file
from diagnose.terminal.replay import ScriptPlayer, played, transcript
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
    parser.add_argument("--json", action="store_true", help=say("cli.replay_json"))
    parser.add_argument("--verify", action="store_true", help=say("cli.replay_verify"))
    parser.add_argument("--refresh", action="store_true", help=say("cli.replay_refresh"))


def run(args: argparse.Namespace) -> int:
    """1 when a transcript is not what its script gives now."""
    reasoner, differing = Reasoner(knowledge_of(args)), 0
    for path in args.files:
        if path.suffix == ".visit":
            show(args, reasoner, path)
        elif args.refresh:
            _write(path.with_suffix(".txt"), transcript(reasoner, path))
        elif args.verify:
            differing += _differs(reasoner, path)
        elif args.json:
            print(json.dumps(as_plain(reasoner, *played(reasoner, path)), indent=1))
        else:
            ScriptPlayer(reasoner, screen_of(args)).play(path)
    return 1 if differing else 0


def _differs(reasoner: Reasoner, path: Path) -> int:
    """1 when the transcript beside the script is not what it gives now; says so either way."""
    beside = path.with_suffix(".txt")
    kept = beside.read_text("utf-8", "replace") if beside.is_file() else ""
    if transcript(reasoner, path) == kept:
        print(say("cli.replay_same", file=path.name))
        return 0
    print(say("cli.replay_differs", file=path.name, kept=beside.name, path=path))
    return 1


def _write(path: Path, text: str) -> None:
    give_file(path, text.encode(), "SCRIPT", force=True)  # --refresh asks for just this
