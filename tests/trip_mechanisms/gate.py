"""The gate moves for whoever asks, and with a shaken sensor also for itself."""

from dataclasses import dataclass

from tests.trip_mechanisms.clock import Rng


@dataclass(frozen=True)
class Drive:
    """How long a movement takes, and how long the gate stands open."""

    travel: float
    hold: float


@dataclass(frozen=True)
class Shake:
    chance: float
    mean: float  # seconds after closed
    reopens: bool


@dataclass(frozen=True)
class Cycle:
    opening: float
    opened: float
    closing: float
    closed: float


@dataclass(frozen=True)
class Life:
    cycles: tuple[Cycle, ...]
    shaken: tuple[float, ...]  # trips a closing leaf made


def drive_of(rng: Rng) -> Drive:
    return Drive(float(rng.uniform(6, 22)), float(rng.uniform(5, 35)))


def shake_of(rng: Rng, kind: str) -> Shake | None:
    if not kind:
        return None
    return Shake(float(rng.uniform(0.25, 0.5)), float(rng.uniform(0.8, 1.8)), kind == "chain")


def live(asked: list[tuple[float, float]], drive: Drive, shake: Shake | None, rng: Rng) -> Life:
    """Who asks while the gate moves or stands open passes in the same cycle; asked: when, and when passed."""
    cycles: list[Cycle] = []
    shaken: list[float] = []
    free = -1.0
    for t, passed in sorted(asked):
        if t < free:
            continue
        again: float | None = t
        while again is not None:
            cycle = _cycle(again, max(passed, again), drive, rng)
            cycles.append(cycle)
            free = cycle.closed + 8.0
            again = _after(cycle, shake, shaken, rng)
    return Life(tuple(cycles), tuple(shaken))


def _cycle(t: float, passed: float, drive: Drive, rng: Rng) -> Cycle:
    opening = t + float(rng.uniform(0.2, 0.9))
    opened = opening + drive.travel + float(rng.normal(0, 0.25))
    closing = max(opened, passed) + drive.hold + float(rng.uniform(0, 2))
    return Cycle(opening, opened, closing, closing + drive.travel + float(rng.normal(0.3, 0.25)))


def _after(cycle: Cycle, shake: Shake | None, shaken: list[float], rng: Rng) -> float | None:
    """A trip soon after closed; the gate opens again for it, or not."""
    if shake is None or rng.random() >= shake.chance:
        return None
    trip = cycle.closed + min(3.5, max(0.3, float(rng.normal(shake.mean, 0.4))))
    shaken.append(trip)
    return trip + 0.1 if shake.reopens else None
