"""Records for the tests, and processes that write them."""

import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from multiprocessing.synchronize import Barrier
from typing import Any

from diagnose.model.history import VisitEnd, VisitRecord
from diagnose.model.visit import Answer
from diagnose.store.history.history import History

NOON = datetime(2026, 3, 1, 12, 0, 0, tzinfo=UTC)
CONTESTED = 25


def at(seconds: float) -> str:
    return (NOON + timedelta(seconds=seconds)).isoformat(timespec="seconds")


def record(name: str, second: int = 0, **changes: Any) -> VisitRecord:
    """A whole visit whose every part can be told from any other's."""
    whole = VisitRecord(
        id=name,
        began=at(second),
        ended=at(second + 600),
        changed=at(second + 600),
        site=f"gate of {name}",
        devices=("laser", "loop"),
        role="technician",
        complaint="ghost_opening",
        words=f"opens by itself, says {name}",
        knowledge="digest",
        state="finished",
        answers=(
            Answer("anyone_touched", "nobody", True, "", f"first of {name}"),
            Answer("sup_volts_sensor", 9.8 + second / 7, False, "the owner", ""),
            Answer("rain_now", "dont_know"),
        ),
        outcome=VisitEnd(causes=("thin_cable",), remedy=f"mended {name}", proof_passed=True, in_service=True),
    )
    return replace(whole, **changes)


def contested(number: int, writer: int) -> VisitRecord:
    """A visit that every writer saves, each a version of its own; the highest writer's changed last."""
    answers = tuple(Answer(f"check_{n}", float(writer)) for n in range(writer + 1))
    return record(f"both-{number}", number, words=f"writer {writer}", answers=answers, changed=at(10_000 + writer))


def write_many(url: str, writer: int, number: int, together: Barrier) -> None:
    """Open the history at the same moment as the other writers, then save `number` visits and the contested ones."""
    together.wait(60)
    with History(url) as history:
        for n in range(number):
            history.save(record(f"{writer}-{n}", n))
            if n < CONTESTED:
                history.save(contested(n, writer))


def write_until_killed(url: str) -> None:
    """Save visits for ever; say each one's name only after it was saved."""
    with History(url) as history:
        for n in range(1_000_000):
            history.save(record(f"visit-{n}", n % 1000))
            sys.stdout.write(f"visit-{n}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    write_until_killed(sys.argv[1])
