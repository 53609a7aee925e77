"""From answer to next question, memory and load time, on the shipped knowledge and on invented ones of any size.

Each size runs in a process of its own, so that its memory is its own.
"""

import multiprocessing
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.measure.simulate import draw_case, work
from diagnose.model.visit import Setup
from tests.bench.clock import T, Times, head, line, ms, timed
from tests.bench.synthetic import synthetic, write

SIZES = (100, 300, 1_000, 3_000)
ANSWERS = {100: 200, 300: 200, 1_000: 100, 3_000: 20}
SHIPPED_ANSWERS = 400


@dataclass(frozen=True, slots=True)
class Figures:
    """Times in seconds, memory in bytes: what the process had at most, and what it had before any knowledge.

    `busy` is processor time, which a machine that does other things leaves nearly alone.
    """

    says: str
    answers: Times
    busy: Times
    first: float
    cold: float
    warm: float
    most: int
    before: int


class Timed(Reasoner):
    """Keeps how long every conclusion took, on the clock and on the processor."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.seconds: list[float] = []
        self.busy: list[float] = []

    def conclude(self, *args: Any, **more: Any) -> Conclusion:
        start, busy = time.perf_counter(), time.thread_time()
        found = super().conclude(*args, **more)
        self.busy.append(time.thread_time() - busy)
        self.seconds.append(time.perf_counter() - start)
        return found


def main(sizes: tuple[int, ...], quick: bool) -> None:
    """The shipped knowledge, then every size."""
    head("From answer to next question; a check and a rule per cause")
    shipped = shipped_folder("knowledge")
    _show(shipped, SHIPPED_ANSWERS // (5 if quick else 1))
    for size in sizes:
        with tempfile.TemporaryDirectory() as folder:
            _alone(_write, shipped, size, Path(folder))
            _show(Path(folder), ANSWERS[size] // (5 if quick else 1))


def _show(folder: Path, answers: int) -> None:
    found = _alone(figures, folder, answers)
    line(found.says, f"{found.answers}; processor alone {found.busy} ({len(found.answers.seconds)} answers)")
    line("", f"first conclusion {ms(found.first)} (rules and network compiled)")
    line("", f"load from YAML {ms(found.cold)}, from the cache {ms(found.warm)}")
    most, before = found.most / 2**20, found.before / 2**20
    line("", f"memory at most {most:,.0f} MB, {before:,.0f} MB of it before any knowledge")


def _alone(work_: Callable[..., T], *args: Any) -> T:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(work_, args)


def _write(shipped: Path, size: int, folder: Path) -> None:
    write(synthetic(load_knowledge(shipped), size), folder)


def figures(folder: Path, answers: int) -> Figures:
    """Simulated visits until so many answers were given; cases are drawn from the knowledge's own model."""
    before = _peak()
    with tempfile.TemporaryDirectory() as cache:
        os.environ["XDG_CACHE_HOME"] = cache
        _, cold = timed(lambda: load_knowledge(folder))
        kb, warm = timed(lambda: load_knowledge(folder))
    reasoner, setup, visits = Timed(kb), Setup(electrician=True), count(1)
    _, first = timed(lambda: reasoner.conclude(setup, "", ()))
    reasoner.seconds.clear()
    reasoner.busy.clear()
    while len(reasoner.seconds) < answers:
        case = draw_case(reasoner.network(()), kb, next(visits))
        work(reasoner, case, setup, lambda conclusion, _: conclusion.next.check)
    says = f"{len(kb.causes):,} causes, {len(kb.checks):,} checks, {len(kb.rules):,} rules"
    return Figures(says, Times(reasoner.seconds), Times(reasoner.busy), first, cold, warm, _peak(), before)


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
