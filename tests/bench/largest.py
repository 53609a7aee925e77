"""What the largest visit files that are taken cost every command, against a visit of an ordinary day in the same run.

python -m tests.bench.largest
"""

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from subprocess import DEVNULL
from tempfile import TemporaryDirectory

from diagnose.session.events import Event
from tests.faults.bombs import ANSWERED, FAILED, REPAIRED, STEPPED, TOLD, largest, without_limits

ORDINARY = [*ANSWERED[:12], *FAILED[:2]]
VISITS = {
    "repairs proved": largest(REPAIRED), "repairs failed": largest(FAILED), "answers": largest(ANSWERED),
    "answers taken back": largest(STEPPED), "notes": largest(TOLD),
}  # fmt: skip


def costs(*command: str) -> tuple[float, float]:
    """Seconds of processor time and the most megabytes that a command took."""
    with subprocess.Popen([sys.executable, "-m", "diagnose", *command], stdout=DEVNULL, stderr=DEVNULL) as process:
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"{command} ended with {process.returncode}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def of_commands(events: Sequence[Event], folder: Path) -> dict[str, tuple[float, float]]:
    """What each command costs that reads a folder with this one visit in it."""
    place = ("--visits", str(without_limits(folder / "visits", events).parent))
    kept = ("--database", str(folder / "h.db"))
    record = ("record", "--html", "-o", str(folder / "out"))
    return {c[0]: costs(*c, *place) for c in (("show",), record, ("history", *kept), ("frequencies", *kept))}


def main() -> None:
    with TemporaryDirectory() as folder:
        of_commands(ORDINARY, Path(folder) / "first")  # the cache of the knowledge is filled
        usual = of_commands(ORDINARY, Path(folder) / "ordinary")
        for name, events in VISITS.items():
            for command, (seconds, megabytes) in of_commands(events, Path(folder) / name.replace(" ", "_")).items():
                ratio = seconds / usual[command][0]
                print(
                    f"{name}, {command}: {seconds:.1f} s, {megabytes:.0f} MB, {ratio:.1f} times an ordinary visit's"
                )


if __name__ == "__main__":
    main()
