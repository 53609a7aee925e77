"""The command line: runs one command and turns errors into exit codes.

0 done · 1 the knowledge check or a replay found differences · 2 wrong use or unusable input · 130 Ctrl-C.
"""

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib import import_module

from diagnose.errors import DiagnoseError, KnowledgeError
from diagnose.options import parser
from diagnose.words import speak

# command -> where it lives; imported only when it is run, for a quick start
COMMANDS = {
    "start": "commands.start",
    "list": "commands.list_visits",
    "show": "commands.show",
    "replay": "commands.replay",
    "resume": "commands.resume",
    "check": "case_commands.check",
    "measure": "measure_commands.measure_visits",
    "cases": "case_commands.cases",
    "calc": "commands.calc",
    "calculators": "commands.calculators",
    "paths": "commands.paths",
    "record": "keeping.record",
    "handover": "keeping.hand_over",
    "takeover": "keeping.take_over",
    "history": "keeping.history",
    "learn": "keeping.learn",
    "profile": "keeping.profile",
    "practice": "practice_commands.practice",
    "explain": "practice_commands.explain",
    "serve": "web_commands.serve",
    "pack": "pack_commands.pack",
    "card": "card_commands.card",
    "from_card": "card_commands.from_card",
    "triplog": "triplog_commands.triplog",
    "languages": "language_commands.languages",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit code; deliberate errors are printed, never raised."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    args = parser().parse_args(argv)
    try:
        if language := args.lang or os.environ.get("DIAGNOSE_LANG", ""):
            speak(language)
        code = _run(args)
        sys.stdout.flush()
        return code
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
    except OSError as error:
        print(f"diagnose: {error.strerror}: {error.filename or 'what is printed'}", file=sys.stderr)
        _drop_output()
        return 2


def _drop_output() -> None:
    """What could not be printed is not tried again at the end of the program."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(args: argparse.Namespace) -> int:
    word = args.command or "start"
    module, name = COMMANDS["from_card" if word == "start" and args.from_card else word].split(".")
    command: Callable[[argparse.Namespace], int] = getattr(import_module(f"diagnose.{module}"), name)
    return command(args)
