"""`diagnose simulate`: simulated visits on the screen and, when wanted, as a page."""

import argparse
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, screen_of, sensors_of
from diagnose.errors import VisitError
from diagnose.measure.collect import WantedFigures
from diagnose.measure.policies import POLICIES
from diagnose.measure.runs import TOOL
from diagnose.model.visit import Setup
from diagnose.report.measure_page import page
from diagnose.session.session import require_devices
from diagnose.store.atomic import give_file, require_free
from diagnose.terminal.measured import draw_measured, measure
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--cases", type=int, default=50, metavar="N", help=say("cli.simulate_cases"))
    parser.add_argument("--seed", type=int, default=1, metavar="N", help=say("cli.simulate_seed"))
    parser.add_argument("--processes", type=int, default=2, metavar="N")
    parser.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help=say("cli.kinds"))
    parser.add_argument("--alone", action="store_true", help=say("cli.simulate_alone"))
    parser.add_argument("--robustness", action="store_true", help=say("cli.simulate_robustness"))
    parser.add_argument("--without-checks", type=int, default=0, metavar="N", help=say("cli.simulate_without"))
    parser.add_argument("--small", type=int, default=20, metavar="N", help=say("cli.simulate_small"))
    parser.add_argument("--html", type=Path, default=None, metavar="FILE", help=say("cli.page_with_plots"))
    force_option(parser)


def run(args: argparse.Namespace) -> int:
    """Runs what is wanted, draws it, and writes the page."""
    for name, least in (("cases", 1), ("processes", 1), ("without_checks", 0), ("small", 0)):
        if getattr(args, name) < least:
            raise VisitError(say("cli.at_least", option=f"--{name.replace('_', '-')}", least=least))
    if args.html and not args.html.absolute().parent.is_dir():
        raise VisitError(say("cli.simulate_folder", folder=args.html.parent))
    if args.html:
        require_free(args.html, "--html FILE", args.force)
    kb, devices = knowledge_of(args), sensors_of(args)
    require_devices(kb, devices)
    wanted = WantedFigures(
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
        give_file(args.html, page(measured), "--html FILE", args.force)
        screen.line(say("cli.page", path=args.html))
    return 0
