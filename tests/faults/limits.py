"""A time limit for whatever might never end."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class Hangs(AssertionError):
    """It took longer than the test allows."""


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Raises Hangs in the block when it is still running after so many seconds of its own processor time."""

    def ring(_signal: int, _frame: FrameType | None) -> None:
        raise Hangs(f"more than {seconds:g} s")

    before = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
