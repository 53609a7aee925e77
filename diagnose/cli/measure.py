"""`diagnose measure`: simulated visits on the screen and, when wanted, as a page."""

import argparse
from pathlib import Path

from diagnose.cli.shared import knowledge_of, screen_of, sensors_of
from diagnose.errors import VisitError
from diagnose.measure.collect import Wanted
from diagnose.measure.policies import POLICIES
from diagnose.measure.runs import TOOL
from diagnose.model.visit import Setup
from diagnose.report.measure_page import page
from diagnose.session.session import require_devices
from diagnose.store.atomic import give_file
from diagnose.terminal.measured import draw_measured, measure


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--cases", type=int, default=50, metavar="N", help="visits per way of asking (default 50)")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed draws the same faults")
    parser.add_argument("--processes", type=int, default=2, metavar="N")
    parser.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help="e.g. laser,loop")
    parser.add_argument("--alone", action="store_true", help="only the tool's own policy, no comparisons")
    parser.add_argument("--robustness", action="store_true", help="wrong knowledge, wrong answers, missing checks")
    parser.add_argument(
        "--without-checks", type=int, default=0, metavar="N", help="minutes lost without each of the N most asked"
    )
    parser.add_argument(
        "--small", type=int, default=20, metavar="N", help="small problems solved exactly (default 20)"
    )
    parser.add_argument("--html", type=Path, default=None, metavar="FILE", help="write a page with plots here")


def run(args: argparse.Namespace) -> int:
    """Runs what is wanted, draws it, and writes the page."""
    for name, least in (("cases", 1), ("processes", 1), ("without_checks", 0), ("small", 0)):
        if getattr(args, name) < least:
            raise VisitError(f"--{name.replace('_', '-')} must be at least {least}")
    if args.html and not args.html.absolute().parent.is_dir():
        raise VisitError(f"there is no folder {args.html.parent} for the page")
    kb, devices = knowledge_of(args), sensors_of(args)
    require_devices(kb, devices)
    wanted = Wanted(
        setup=Setup(electrician=True, devices=devices),
        cases=args.cases,
        seed=args.seed,
        processes=args.processes,
        policies=(TOOL,) if args.alone else tuple(POLICIES),
        robustness=args.robustness,
        without=args.without_checks,
        corners=args.small,
    )
    measured, screen = measure(kb, wanted), screen_of(args)
    draw_measured(screen, measured)
    if args.html:
        give_file(args.html, page(measured), "--html FILE")
        screen.line(f"Page: {args.html}")
    return 0
