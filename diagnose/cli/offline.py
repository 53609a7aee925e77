"""`diagnose offline`: the knowledge as one HTML file."""

import argparse
from datetime import datetime
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, screen_of, sensors_of
from diagnose.errors import VisitError
from diagnose.model.gear import Gear
from diagnose.model.knowledge import KnowledgeBase
from diagnose.pack.build import payload
from diagnose.pack.page import page
from diagnose.session.gear_words import read_gear
from diagnose.store.atomic import give_file, require_free
from diagnose.store.profiles import load_profile
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("-o", "--output", default="diagnose.html", metavar="FILE")
    parser.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help=say("cli.offline_sensors"))
    parser.add_argument("--gear", default=argparse.SUPPRESS, metavar="WORDS", help=say("cli.offline_gear"))
    parser.add_argument("--profile", action="append", default=[], metavar="FILE", help=say("cli.offline_profile"))
    force_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write the page that diagnoses without a network."""
    target = Path(args.output)
    require_free(target, "-o FILE", args.force)
    kb = knowledge_of(args)
    gear = read_gear(kb, args.gear or "")
    profiles = [load_profile(name) for name in args.profile]
    today = datetime.now().strftime("%Y-%m-%d")
    written = page(payload(kb, _sensors(args, kb, gear), profiles, gear) | {"about": {"packed": today}})
    give_file(target, written, "-o FILE", args.force)
    screen_of(args).line(say("cli.offline_written", path=target, size=f"{len(written) / 1e6:.1f}"))
    return 0


def _sensors(args: argparse.Namespace, kb: KnowledgeBase, gear: Gear) -> tuple[str, ...]:
    kinds = sensors_of(args)
    if kinds and gear:
        raise VisitError(say("cli.offline_either"))
    if unknown := [k for k in kinds if k not in kb.devices]:
        raise VisitError(say("session.device", name=unknown[0], known=", ".join(kb.devices)))
    return kinds
