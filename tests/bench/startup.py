"""From the start of the process to the first questions, as a person meets them: on a terminal, and through a pipe."""

import os
import pty
import re
import resource
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from functools import partial
from pathlib import Path

from tests.bench.clock import Times, head, line, timed

COMMAND = (sys.executable, "-m", "diagnose", "--visits")
FIRST_QUESTION = rb"Where are you\?.*caller.*>"
BEFORE_THE_CHECK = b"1\n\n1\n"  # at the gate, sensors not known, the first complaint
FIRST_CHECK = rb"\n1\. .*>"


def main(quick: bool) -> None:
    """Medians of 10 runs; the very first run fills the cache and stands alone."""
    head("From process start to question")
    with tempfile.TemporaryDirectory() as home:
        (Path(home) / "visits").mkdir()
        wait = partial(_wait, (*COMMAND, f"{home}/visits"), {**os.environ, "XDG_CACHE_HOME": home, "TERM": "xterm"})
        _, cold = timed(partial(wait, FIRST_QUESTION))
        line("first question, nothing cached", f"{cold:.2f} s")
        for says, work in (
            ("first question, through a pipe", partial(wait, FIRST_QUESTION)),
            ("first question, on a terminal", partial(wait, FIRST_QUESTION, terminal=True)),
            ("first check, answers before it in the pipe", partial(wait, FIRST_CHECK, BEFORE_THE_CHECK)),
        ):
            runs, before = 3 if quick else 10, _children()
            times = Times([timed(work)[1] for _ in range(runs)])
            busy = (_children() - before) / runs
            line(says, f"median {times.median:.2f} s of {runs}; processor alone {busy:.2f} s")


def _children() -> float:
    """Processor seconds of all processes started so far."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _wait(
    command: tuple[str, ...], env: Mapping[str, str], until: bytes, typed: bytes = b"", terminal: bool = False
) -> None:
    """Start the program, type, and wait until it shows `until`; then end it."""
    ours, theirs = pty.openpty() if terminal else (0, subprocess.PIPE)
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=subprocess.STDOUT, env=env) as process:
        try:
            if process.stdin:
                process.stdin.write(typed)
                process.stdin.flush()
            _read_until(process.stdout.fileno() if process.stdout else ours, until)
        finally:
            process.kill()
            for end in (ours, theirs) if terminal else ():
                os.close(end)


def _read_until(source: int, until: bytes) -> None:
    seen = b""
    while not re.search(until, seen, re.DOTALL):
        more = os.read(source, 65536)
        if not more:
            raise SystemExit(f"the program ended early:\n{seen.decode(errors='replace')}")
        seen += more
