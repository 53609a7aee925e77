"""Timing, and the lines that a benchmark prints."""

import os
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Times:
    """Seconds of several runs."""

    seconds: Sequence[float]

    @property
    def median(self) -> float:
        return statistics.median(self.seconds)

    @property
    def p95(self) -> float:
        """Nearest rank."""
        ranked = sorted(self.seconds)
        return ranked[max(-(-95 * len(ranked) // 100) - 1, 0)]

    def __str__(self) -> str:
        return f"p50 {ms(self.median)}, p95 {ms(self.p95)}"


def ms(seconds: float) -> str:
    """Milliseconds with three figures or so."""
    value = seconds * 1e3
    return f"{value:,.0f} ms" if value >= 100 else f"{value:.1f} ms" if value >= 1 else f"{value:.3f} ms"


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """What one call returns, and the seconds it takes."""
    start = time.perf_counter()
    found = work()
    return found, time.perf_counter() - start


def worked(work: Callable[[], T]) -> tuple[T, float]:
    """What one call returns, and the seconds of processor time it takes: comparable on a machine that is not idle."""
    start = time.process_time()
    found = work()
    return found, time.process_time() - start


def head(says: str) -> None:
    print(f"\n{says} (load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors)", flush=True)


def line(what: str, says: str) -> None:
    print(f"  {what:<46} {says}", flush=True)
