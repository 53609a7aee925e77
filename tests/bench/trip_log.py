"""400,000 rows of an invented log, read and judged: seconds and megabytes. Run by hand, it is no test.

python -m tests.bench.trip_log
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from diagnose.store.triplogs import clock_of, lines_of, sample
from diagnose.triplog.assemble import assemble
from diagnose.triplog.columns import FileQuestion
from diagnose.triplog.judge import judge
from diagnose.triplog.layout import find_layout
from diagnose.triplog.rows import placed, read_rows

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


def main() -> None:
    """Write the file, then time the reading and the judging of it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        write(path)
        start = time.perf_counter()
        layout = find_layout(sample(path), {})
        if isinstance(layout, FileQuestion):
            raise SystemExit(layout.asks)
        rows = read_rows(lines_of(path), layout)
        clock = clock_of("CET", float(rows.clock.min()), float(rows.clock.max()))
        kept, utc, _ = placed(rows, clock)
        log = assemble([(kept, utc)], clock)
        read = time.perf_counter() - start
        verdict = judge(log)
        judged = time.perf_counter() - start - read
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    print(f"{rows.read:,} rows: read in {read:.1f} s")
    print(f"{verdict.episodes:,} episodes: judged in {judged:.1f} s; {peak:.0f} MB at most")


if __name__ == "__main__":
    main()
