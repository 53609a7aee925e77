"""`diagnose card`: print field cards."""

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from diagnose.cards.card import Card
from diagnose.cards.compose import Composer
from diagnose.cards.grow import Grower
from diagnose.cards.plan import fill
from diagnose.cards.settle import reach, visits
from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, screen_of, sensors_of
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.errors import VisitError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.present.card import reach_says
from diagnose.report import card_html, card_pdf
from diagnose.report.card_page import fits, lay_out
from diagnose.report.card_text import outline
from diagnose.session.match import match_complaint
from diagnose.session.session import require_devices
from diagnose.store.atomic import give_file
from diagnose.store.profiles import profile_facts
from diagnose.terminal.screen import Screen
from diagnose.words import say

DRAWERS = {"html": card_html.render, "pdf": card_pdf.render}


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("complaint", nargs="*", metavar="COMPLAINT", help=say("cli.card_complaint"))
    parser.add_argument("--all", action="store_true", help=say("cli.card_all"))
    parser.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help=say("cli.card_sensors"))
    parser.add_argument("--pages", type=int, choices=(1, 2), default=2)
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4")
    for ending in ("html", "pdf"):
        parser.add_argument(f"--{ending}", action="store_true", help=say("cli.card_ending", ending=ending))
    parser.add_argument("-o", "--output", default=".", metavar="FOLDER")
    force_option(parser)
    role = parser.add_mutually_exclusive_group()
    role.add_argument("--electrician", action="store_true", default=False, help=say("cli.card_electrician"))
    role.add_argument("--help-desk", action="store_true", default=False, help=say("cli.card_help_desk"))
    for kind in ("device", "site"):
        parser.add_argument(f"--{kind}", default=argparse.SUPPRESS, metavar="PROFILE", help=say(f"cli.option_{kind}"))
    parser.add_argument("--cases", type=int, default=100, metavar="N", help=say("cli.card_cases"))
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--processes", type=int, default=2, metavar="N")


def run(args: argparse.Namespace) -> int:
    """Print a field card for each complaint and sensor kind asked for."""
    if args.cases < 0:
        raise VisitError(say("cli.card_cases_wrong"))
    if args.processes < 1:
        raise VisitError(say("cli.at_least", option="--processes", least=1))
    kb, screen = knowledge_of(args), screen_of(args)
    complaints, kinds = _complaints(args, kb), _kinds(args, kb)
    folder = Path(args.output)
    for complaint in complaints:
        for kind in kinds:
            made = _made(args, kb, _setup(args, kind), complaint)
            for path in _write(args, made, folder / f"card_{complaint}_{kind}"):
                screen.line(str(path))
            _tell(screen, made, whole=not args.all and len(kinds) == 1)
    return 0


def _complaints(args: argparse.Namespace, kb: KnowledgeBase) -> list[str]:
    """By id or by free words; words that fit several are shown for choosing, never chosen for the person."""
    words = " ".join(args.complaint)
    if args.all:
        return list(kb.complaints)
    if words in kb.complaints:
        return [words]
    found = match_complaint(kb, words) if words else list(kb.complaints)
    if len(found) == 1:
        return found
    told = "; ".join(f"{c} ({kb.complaints[c].says})" for c in found) or ", ".join(kb.complaints)
    raise VisitError(say("cli.card_which_complaint", known=told))


def _kinds(args: argparse.Namespace, kb: KnowledgeBase) -> list[str]:
    kinds = list(sensors_of(args))
    require_devices(kb, kinds)
    if kinds or args.all:
        return kinds or list(kb.devices)
    raise VisitError(say("cli.card_which_kind", known=", ".join(kb.devices)))


def _setup(args: argparse.Namespace, kind: str) -> Setup:
    profile = profile_facts(filter(None, (args.device, args.site)))
    return Setup("help_desk" if args.help_desk else "technician", args.electrician, None, (kind,), profile)


def _made(args: argparse.Namespace, kb: KnowledgeBase, setup: Setup, complaint: str) -> Card:
    """The card that uses the paper best, with the figures of the simulated visits."""
    grower = Grower(Reasoner(kb, partial(fixpoint, kb)), setup, complaint)
    composer = Composer(grower, datetime.now().date().isoformat())
    name = f"{complaint}, {' '.join(setup.devices)}"
    with _progress(args, say("cli.card_steps", card=name), None) as step:
        plan = fill(grower, lambda p: fits(composer.card(p), args.paper, args.pages), step)
    made = composer.card(plan)
    if not args.cases:
        return made
    with _progress(args, say("cli.card_visits", card=name), args.cases) as step:
        done = []
        for worked in visits(kb, setup, complaint, args.cases, args.seed, args.processes):
            done.append(worked)
            step()
    return replace(made, reach=reach(grower, plan, done, args.seed))


@contextmanager
def _progress(args: argparse.Namespace, says: str, total: int | None) -> Iterator[Callable[[], None]]:
    """A bar on the terminal, where there is one; what is yielded moves it on."""
    from rich.console import Console
    from rich.progress import Progress

    shown = sys.stderr.isatty() and not args.plain
    with Progress(console=Console(stderr=True), transient=True, disable=not shown) as bar:
        task = bar.add_task(says, total=total)
        yield lambda: bar.advance(task)


def _write(args: argparse.Namespace, made: Card, stem: Path) -> Iterator[Path]:
    layouts = [lay_out(made, args.paper)]
    for ending in [e for e in DRAWERS if getattr(args, e)] or ["html"]:
        path = stem.with_suffix(f".{ending}")
        content = DRAWERS[ending](layouts)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise VisitError(
                say("store.not_written_there", path=path, why=error.strerror, option="-o FOLDER")
            ) from error
        give_file(path, content, "-o FOLDER", args.force)
        yield path


def _tell(screen: Screen, made: Card, whole: bool) -> None:
    """The outline of a single card; of several only how far each leads."""
    if whole:
        for lead, text, style in outline(made):
            screen.hanging(lead, text, style)
    elif made.reach:
        screen.hanging("   ", reach_says(made.reach))
