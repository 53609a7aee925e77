"""The command line: wires stores, session core and front ends together, and turns errors into exit codes.

0 done · 1 the knowledge check or a replay found differences · 2 wrong use or unusable input · 130 Ctrl-C.
"""

import argparse
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from diagnose import __version__
from diagnose.errors import DiagnoseError, KnowledgeError

EXAMPLES = """examples:
  diagnose                          start a visit
  diagnose --help-desk              guide a caller on the phone
  diagnose resume                   go on with the last visit
  diagnose replay transcripts_demo/ghost_in_rain.yaml
"""


def parser() -> argparse.ArgumentParser:
    """All commands and options."""
    top = argparse.ArgumentParser(
        prog="diagnose",
        description="Troubleshoot vehicle-detection sensors at automatic gates and barriers.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"gate-diagnose {__version__}")
    _common_options(top)
    _visit_options(top)
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    _visit_options(commands.add_parser("start", help="start a visit (the same as no command)"), again=True)
    resume = commands.add_parser("resume", help="go on with a visit")
    resume.add_argument("name", nargs="?", default="last", help="its name or the start of it; default: the last")
    commands.add_parser("list", help="list visits, newest first")
    show = commands.add_parser("show", help="show a visit")
    show.add_argument("name", nargs="?", default="last")
    show.add_argument("--json", action="store_true")
    replay = commands.add_parser("replay", help="play a script or a visit file again")
    replay.add_argument("files", nargs="+", type=Path, metavar="FILE")
    replay.add_argument("--json", action="store_true", help="print one JSON object per file (schema 1)")
    replay.add_argument("--verify", action="store_true", help="compare with the transcript beside each script")
    replay.add_argument("--refresh", action="store_true", help="write the transcript beside each script")
    check = commands.add_parser("check", help="check a knowledge folder; every problem with file:line:column")
    check.add_argument("folder", nargs="?", default="", help="default: the shipped knowledge")
    measure = commands.add_parser("measure", help="simulated visits: how often right, how many minutes")
    _measure_options(measure)
    calc = commands.add_parser("calc", help="calculators for the gate: supply, contacts, scan height, sun ...")
    calc.add_argument("words", nargs="*", metavar="NAME INPUT=VALUE", help="none: list them; only a name: asks")
    commands.add_parser("calculators", help="list the calculators a knowledge base may name")
    commands.add_parser("paths", help="say where files are kept")
    for command in commands.choices.values():
        _common_options(command, again=True)
    return top


def _measure_options(measure: argparse.ArgumentParser) -> None:
    measure.add_argument("--cases", type=int, default=50, metavar="N", help="visits per way of asking (default 50)")
    measure.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed draws the same faults")
    measure.add_argument("--processes", type=int, default=2, metavar="N")
    measure.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help="e.g. laser,loop")
    measure.add_argument("--alone", action="store_true", help="only the tool's own policy, no comparisons")


def _common_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    """Options that may stand before or after a command; the second place leaves the first one's value alone."""

    def add(flag: str, default: object, text: str, **more: Any) -> None:
        command.add_argument(flag, default=argparse.SUPPRESS if again else default, help=text, **more)

    add("--knowledge", "", "use this knowledge instead of the shipped one", metavar="FOLDER")
    add("--visits", "", "keep visits here instead of in your data folder", metavar="FOLDER")
    add("--plain", False, "no colour, plain line input (also TERM=dumb, ACCESSIBLE=1)", action="store_true")
    add("--width", 0, argparse.SUPPRESS, type=int)


def _visit_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    default = argparse.SUPPRESS if again else None
    role = command.add_mutually_exclusive_group()
    for flag, text in (
        ("--help-desk", "you are on the phone with a caller"),
        ("--technician", "you are at the gate"),
        ("--electrician", "you are at the gate and licensed for mains work"),
    ):
        role.add_argument(flag, action="store_true", help=text, default=default or False)
    command.add_argument("--sensors", default=default, metavar="KINDS", help="sensor kinds on site, e.g. laser,loop")
    command.add_argument(
        "--device", default=default, metavar="PROFILE", help="device profile (file, or a shipped id)"
    )
    command.add_argument("--site", default=default, metavar="PROFILE", help="site profile (file, or a shipped id)")
    command.add_argument("--name", default=default, metavar="TEXT", help="what this site is called in your list")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit code; deliberate errors are printed, never raised."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    args = parser().parse_args(argv)
    try:
        return _run(args)
    except KnowledgeError as error:
        print(error, *error.problems, sep="\n", file=sys.stderr)
        return 2
    except DiagnoseError as error:
        print(f"diagnose: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nstopped; every answer given is saved", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def _run(args: argparse.Namespace) -> int:
    from diagnose import commands

    match args.command:
        case "check":
            return commands.check(args)
        case "measure":
            return commands.measure(args)
        case "calc":
            return commands.calc(args)
        case "calculators":
            return commands.calculators()
        case "paths":
            return commands.paths(args)
        case "list":
            return commands.list_visits(args)
        case "show":
            return commands.show(args)
        case "replay":
            return commands.replay(args)
        case "resume":
            return commands.resume(args)
        case _:
            return commands.start(args)
