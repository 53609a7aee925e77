"""`diagnose overview`: many visits by site, gate, device, cause and month, for whoever answers for them."""

import argparse
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from diagnose.cli.dates import date_options, span_of
from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import knowledge_of, screen_of
from diagnose.cli.taken_in import take_in_all
from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.overview import AGAIN, BY, Overview, group_says, overview_of, overview_table
from diagnose.present.tables import csv_text
from diagnose.store.atomic import give_file
from diagnose.store.history.history import History, Span
from diagnose.terminal.screen import Screen
from diagnose.words import say

ALL = 1_000_000
OUT = "-"


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--by", default=",".join(BY), metavar="WHAT", help=say("cli.overview_by", known=",".join(BY)))
    date_options(parser)
    parser.add_argument("--place", default="", metavar="SITE", help=say("cli.history_place"))
    parser.add_argument("--kind", default="", metavar="KIND", help=say("cli.history_kind"))
    parser.add_argument("--csv", default="", metavar="FILE", help=say("cli.overview_csv"))
    json_option(parser)
    parser.add_argument("--most", type=int, default=10, metavar="N", help=say("cli.overview_most"))
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """Every visit of the history counts, wherever it was made."""
    kb, screen = knowledge_of(args), screen_of(args)
    by = _by(args.by)
    with History(args.database) as history:
        take_in_all(args, kb, history)
        found = _found(history, kb, args, span_of(args))
        later = _found(history, kb, args, after) if (after := _after(span_of(args))) else ()
    overview = overview_of(kb, found, by, later)
    if args.csv == OUT:
        sys.stdout.write(csv_text(overview_table(overview)))
    elif args.csv:
        give_file(Path(args.csv), csv_text(overview_table(overview)).encode(), "--csv FILE")
        screen.row("", say("cli.record_written", path=Path(args.csv).resolve()))
    elif args.json:
        print_json(groups=overview_table(overview).records())
    else:
        draw(screen, overview, args.most)
    return 0


def _by(typed: str) -> Sequence[str]:
    by = typed.replace(",", " ").split()
    if wrong := [name for name in by if name not in BY]:
        raise VisitError(say("cli.overview_unknown", name=wrong[0], known=", ".join(BY)))
    return by or BY


def _found(history: History, kb: KnowledgeBase, args: argparse.Namespace, span: Span) -> Sequence[VisitRecord]:
    if args.kind and args.kind not in kb.devices:
        raise VisitError(say("session.device", name=repr(args.kind), known=", ".join(kb.devices)))
    return history.search("", args.place, args.kind, ALL, began=span)


def _after(span: Span) -> Span | None:
    """The days after the last one in which what came back of it shows; None without a last one."""
    if not span.until:
        return None
    end = (datetime.fromisoformat(span.until) + AGAIN).isoformat(timespec="seconds")
    return Span(span.until, end)


def draw(screen: Screen, overview: Overview, most: int) -> None:
    """The most frequent of each; what is not shown is counted."""
    screen.row("", f"{overview.all.name}: {group_says(overview.all)}")
    for by, groups in overview.groups.items():
        shown = groups[-most:] if by == "month" else groups[:most]
        if groups:
            screen.heading(say(f"cli.overview_{by}"))
        for group in shown:
            screen.row(f"{group.name}: ", group_says(group))
        if len(groups) > len(shown):
            screen.row("", say("cli.overview_others", n=len(groups) - len(shown)))
    if overview.parts:
        screen.heading(say("cli.overview_parts"))
    for part, number in overview.parts[:most]:
        screen.row(f"{number:4d}  ", part)
