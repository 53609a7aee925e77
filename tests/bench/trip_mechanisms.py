"""Logs with a planted cause, read and judged as the command does it: what is named first, and what is named wrongly.

python -m tests.bench.trip_mechanisms [--seeds learn|kept|A-B] [--only MECH] [--nulls N] [--processes N]

Run by hand, it is no test. Seeds 10 to 19 are kept for a last run: nothing is mended by them. `--nulls 500` judges so
many logs with traffic in which nothing is planted, of seeds that are used for nothing else.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from multiprocessing import Pool
from pathlib import Path

from diagnose.cli.parser import parser
from diagnose.cli.triplog import files_of
from diagnose.errors import DiagnoseError
from diagnose.terminal.triplog_files import load
from diagnose.triplog.judge import judge
from tests.trip_mechanisms import LEARN, MECHANISMS, NULLS, make
from tests.trip_mechanisms.__main__ import _seeds as seeds_of
from tests.trip_mechanisms.__main__ import words
from tests.trip_mechanisms.build import LOG
from tests.trip_mechanisms.model import Made, Options

PROCESSES = 2
FIRST_NULL_SEED = 1000
Z = 1.96
NOTHING, REFUSED = "no_pattern", "refused"
NEAR = {"drift": "follows_sun"}
"""Names that tell a part of what the generator's name tells: a start that moves, but not with what."""


@dataclass(frozen=True)
class Judged:
    """One log: what was found, first the strongest, and how each finding stands to the truth."""

    mechanism: str
    seed: int
    said: tuple[str, ...]
    marks: tuple[str, ...]  # right, near, false; one per finding, or one for finding nothing
    seconds: float

    @property
    def null(self) -> bool:
        return MECHANISMS[self.mechanism].null

    @property
    def false(self) -> int:
        return self.marks.count("false") if self.finds else 0

    @property
    def finds(self) -> bool:
        """To find nothing, or to refuse a log, is no finding."""
        return self.said[0].split(":")[0] not in (NOTHING, REFUSED)


def judged(which: tuple[str, int]) -> Judged:
    """Make, read and judge one log. What the reader refuses is told in place of findings."""
    log = make(*which)
    with tempfile.TemporaryDirectory() as folder:
        arguments = written(log, Path(folder))
        start = time.perf_counter()
        found = _found(arguments)
        took = time.perf_counter() - start
    names = [name.split(":")[0] for name in found]
    return Judged(*which, found, tuple(mark(log, name) for name in names), took)


def written(log: Made, folder: Path) -> list[str]:
    """The files of a log, and the command's arguments for them."""
    for name, text in log.files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return ["triplog", str(folder / LOG), f"--visits={folder}", *words(_told(log.options, folder))]


def _told(options: Options, folder: Path) -> Options:
    """A word's role is what the command calls its meaning."""
    weather, moves = (str(folder / name) if name else None for name in (options.weather, options.moves))
    return replace(options, words=options.roles, weather=weather, moves=moves)


def _found(arguments: Sequence[str]) -> tuple[str, ...]:
    """Each finding as 'name: detail'."""
    try:
        log, _ = load(files_of(parser(("triplog",)).parse_args(arguments), {}), None)
        if not len(log.trips):
            return (f"{NOTHING}: all trips are explained",)
        verdict = judge(log)
    except DiagnoseError as error:
        return (f"{REFUSED}: {error}",)
    none = f"{NOTHING}: {len(log.trips)} trips, {verdict.episodes} episodes"
    return tuple(f"{p.name}: {p.count.detail}" for p in verdict.patterns) or (none,)


def mark(log: Made, name: str) -> str:
    """How a finding stands to what was planted."""
    names = {name, *_by_the_sun(log, name)}
    if names & set(log.truth.family):
        return "right"
    near = {*log.truth.near, *(part for part, whole in NEAR.items() if whole in log.truth.family)}
    return "near" if names & near else "false"


def _by_the_sun(log: Made, name: str) -> set[str]:
    """A patch of sky far from a look names the sun where no look is told, or one away from the sun."""
    away = log.options.look is None or log.truth.family[0] == "mirrored_sun"
    return {"low_sun"} if name == "sun_patch" and away else set()


def wilson(right: int, of: int) -> tuple[float, float]:
    """95 % interval of a share, in percent."""
    if not of:
        return 0.0, 100.0
    share, spread = right / of, Z**2 / of
    half = Z * sqrt(share * (1 - share) / of + spread / (4 * of))
    return tuple(100 * (share + spread / 2 + side * half) / (1 + spread) for side in (-1, 1))  # type: ignore[return-value]


def share(label: str, right: int, of: int) -> str:
    low, high = wilson(right, of)
    return f"{label}: {right} of {of}, {100 * right / max(of, 1):.1f} % ({low:.1f} to {high:.1f})"


def table(found: Sequence[Judged]) -> Iterable[str]:
    """One line per mechanism."""
    yield f"{'mechanism':16s} first  any   of  false  logs with a false one"
    for name in dict.fromkeys(j.mechanism for j in found):
        mine = [j for j in found if j.mechanism == name]
        first, anywhere = sum(j.marks[0] == "right" for j in mine), sum("right" in j.marks for j in mine)
        wrong, logs = sum(j.false for j in mine), sum(j.false > 0 for j in mine)
        yield f"{name:16s} {first:5d} {anywhere:4d} {len(mine):4d} {wrong:6d} {logs:6d}"


def totals(found: Sequence[Judged]) -> Iterable[str]:
    planted, nulls = [j for j in found if not j.null], [j for j in found if j.null]
    yield share("first named right", sum(j.marks[0] == "right" for j in planted), len(planted))
    yield share("first named right or near", sum(j.marks[0] != "false" for j in planted), len(planted))
    yield share("right among all findings", sum("right" in j.marks for j in planted), len(planted))
    yield share("planted logs with a false finding", sum(j.false > 0 for j in planted), len(planted))
    findings = sum(len(j.marks) for j in planted if j.finds)
    yield share("false among the findings of planted logs", sum(j.false for j in planted), findings)
    yield share("nulls with a false finding", sum(j.false > 0 for j in nulls), len(nulls))
    yield f"{sum(j.seconds for j in found) / max(len(found), 1):.1f} s a log"


def missed(found: Sequence[Judged]) -> Iterable[str]:
    """Logs whose first finding is not right, or that have a false one."""
    for j in found:
        if j.marks[0] != "right" or j.false:
            said = "; ".join(f"[{m}] {s}" for m, s in zip(j.marks, j.said, strict=True))
            yield f"{j.mechanism} {j.seed}: {said}"


def work_of(given: argparse.Namespace) -> list[tuple[str, int]]:
    """Which logs are judged."""
    if given.nulls:
        return [(NULLS[n % len(NULLS)], FIRST_NULL_SEED + n // len(NULLS)) for n in range(given.nulls)]
    return [(name, seed) for seed in given.seeds for name in given.only or MECHANISMS]


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench.trip_mechanisms", description=__doc__)
    asked.add_argument("--seeds", type=seeds_of, default=LEARN, help="learn, kept, or FIRST-LAST (default: learn)")
    asked.add_argument("--only", action="append", choices=list(MECHANISMS), metavar="MECH", help="may come again")
    asked.add_argument("--nulls", type=int, default=0, metavar="N", help="N logs in which nothing is planted")
    asked.add_argument("--processes", type=int, default=PROCESSES, metavar="N", help=f"default: {PROCESSES}")
    found = []
    given = asked.parse_args()
    with Pool(given.processes) as pool:
        for one in pool.imap(judged, work_of(given)):
            found.append(one)
            print(one, file=sys.stderr, flush=True)
    print("\n".join([*table(found), "", *totals(found), "", *missed(found)]))


if __name__ == "__main__":
    main()
