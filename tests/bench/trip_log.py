"""400,000 rows of an invented log, read and judged: seconds and megabytes. Run by hand, it is no test.

python -m tests.bench.trip_log
"""

import csv
import resource
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np

from diagnose.store.triplogs import clock_of, lines_of, sample
from diagnose.triplog.assemble import assemble
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.judge import judge
from diagnose.triplog.layout import find_layout
from diagnose.triplog.records import Log
from diagnose.triplog.rows import placed, read_rows
from tests.bench.clock import head, line, worked

ROWS = 400_000
DAYS = 365


def write(path: Path, rows: int = ROWS) -> None:
    """Trips, movements and passes at random times, day.month.year."""
    rng = np.random.default_rng(1)
    seconds = np.sort(rng.integers(0, DAYS * 86400, rows)).astype("timedelta64[s]")
    stamps = np.datetime64("2025-01-01") + seconds
    words = rng.choice(["trip", "gate opens", "gate closes", "vehicle pass"], rows, p=[0.1, 0.3, 0.3, 0.3])
    with path.open("w", encoding="utf-8") as file:
        file.write("time;event;sensor\n")
        for text, word in zip(np.datetime_as_string(stamps, "s"), words, strict=True):
            file.write(f"{text[8:10]}.{text[5:7]}.{text[:4]} {text[11:]};{word};lane\n")


def read_log(path: Path) -> Log:
    """The log as the command reads it."""
    layout = find_layout(sample(path), {})
    if isinstance(layout, FileQuestion):
        raise SystemExit(layout.asks)
    rows = read_rows(lines_of(path), layout)
    clock = clock_of("CET", float(rows.clock.min()), float(rows.clock.max()))
    kept, utc, _ = placed(rows, clock)
    return assemble([(kept, utc)], clock)


def split_alone(path: Path) -> int:
    """What any reader of the file must do at least: the standard library splits it into cells."""
    with path.open(encoding="utf-8", newline="") as file:
        return sum(1 for _ in csv.reader(file, delimiter=";"))


def transform() -> float:
    """One Fourier transform of the length that the search for a period needs."""
    return float(np.abs(np.fft.rfft(np.arange(1 << 22, dtype=np.float64))[1]))


def main() -> None:
    """Write the file, then time the reading and the judging of it, beside work of the same run to compare with."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        write(path)
        head("A year of a trip log")
        _, split = worked(partial(split_alone, path))
        _, fourier = worked(transform)
        start = time.perf_counter()
        log, read = worked(partial(read_log, path))
        verdict, judged = worked(partial(judge, log))
        wall = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    line(f"{ROWS:,} rows read, processor", f"{read:.2f} s, {read / split:.1f} times a bare split into cells")
    line(f"{verdict.episodes:,} episodes judged, processor", f"{judged:.2f} s, {judged / fourier:.0f} transforms")
    line("both, processor and by the clock on the wall", f"{read + judged:.2f} s, {wall:.2f} s")
    line("memory at most", f"{peak:.0f} MB")


if __name__ == "__main__":
    main()
