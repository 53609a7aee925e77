"""The command line: wires stores, session core and front ends together, and turns errors into exit codes.

0 done · 1 the knowledge check or a replay found differences · 2 wrong use or unusable input · 130 Ctrl-C.
"""

import argparse
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

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
    top.add_argument(
        "--knowledge", default="", metavar="FOLDER", help="use this knowledge instead of the shipped one"
    )
    top.add_argument("--visits", default="", metavar="FOLDER", help="keep visits here instead of in your data folder")
    top.add_argument(
        "--plain", action="store_true", help="no colour, plain line input (also TERM=dumb, ACCESSIBLE=1)"
    )
    top.add_argument("--width", type=int, default=0, help=argparse.SUPPRESS)
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
    commands.add_parser("calculators", help="list the calculators a knowledge base may name")
    commands.add_parser("paths", help="say where files are kept")
    return top


def _visit_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    default = argparse.SUPPRESS if again else None
    for flag, text in (
        ("--help-desk", "you are on the phone with a caller"),
        ("--technician", "you are at the gate"),
        ("--electrician", "you are licensed for mains work"),
    ):
        command.add_argument(flag, action="store_true", help=text, default=default or False)
    command.add_argument("--sensors", default=default, metavar="KINDS", help="sensor kinds on site, e.g. laser,loop")
    command.add_argument(
        "--device", default=default, metavar="PROFILE", help="device profile (file, or a shipped id)"
    )
    command.add_argument("--site", default=default, metavar="PROFILE", help="site profile (file, or a shipped id)")
    command.add_argument("--name", default=default, metavar="TEXT", help="what this site is called in your list")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit code; deliberate errors are printed, never raised."""
    for stream in (sys.stdout, sys.stderr):
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
        print("\nleft; every answer given is saved", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def _run(args: argparse.Namespace) -> int:
    from diagnose import commands

    match args.command:
        case "check":
            return commands.check(args)
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
