"""The command line: runs one command and turns errors into exit codes.

0 done · 1 the knowledge check or a replay found differences · 2 wrong use or unusable input · 130 Ctrl-C.
"""

import os
import sys
from collections.abc import Sequence
from contextlib import suppress

from diagnose.cli.defaults import apply
from diagnose.cli.parser import language_in, module_of, parser
from diagnose.errors import DiagnoseError, KnowledgeError
from diagnose.store.settings import all_set
from diagnose.words import say, speak


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit code; deliberate errors are printed, never raised."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # numpy's matrices are small here: threads only wait
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    given = sys.argv[1:] if argv is None else argv
    try:
        if "_ARGCOMPLETE" in os.environ:  # a shell asks what may be typed next
            from diagnose.cli.completing import complete

            return complete()
        found = all_set()
        if language := language_in(given) or (found["lang"].value if "lang" in found else ""):
            speak(language)
        args = parser(given).parse_args(given)
        apply(args, found)
        code: int = module_of(args.command or "start").run(args)
        sys.stdout.flush()
        return code
    except KnowledgeError as error:
        print(error, *error.problems, sep="\n", file=sys.stderr)
        return 2
    except DiagnoseError as error:
        print(f"diagnose: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print(f"\n{say('cli.stopped')}", file=sys.stderr)
        return 130
    except BrokenPipeError:
        _drop_output()
        return 0
    except OSError as error:
        print(f"diagnose: {error.strerror}: {error.filename or say('cli.what_is_printed')}", file=sys.stderr)
        _drop_output()
        return 2


def _drop_output() -> None:
    """What could not be printed is not tried again at the end of the program."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
