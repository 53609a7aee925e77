"""The monitored test a controller runs before each cycle: timing and verdict.

The controller asserts the test, the output must go to detect within the window, the test is released and the
output must return to clear. Source: derived from UL 325 style monitoring as restated in 16 CFR 1211.8(b)
(presence, correct operation, open or short in wiring, at least once each close cycle).
"""

from dataclasses import dataclass
from typing import Literal

from diagnose.calc.contacts import Seen
from diagnose.errors import CalculationError

Outcome = Literal["healthy", "obstruction", "fault", "retest"]


@dataclass(frozen=True, slots=True)
class PulseTimes:
    """Times in milliseconds. `boot_ms` is 0 unless the test interrupts the sensor's supply."""

    pulse_ms: float
    window_ms: float
    response_ms: float
    relay_ms: float
    hold_ms: float = 0.0
    boot_ms: float = 0.0


@dataclass(frozen=True, slots=True)
class Timing:
    """Needed and spare milliseconds; a negative spare is a false fault waiting to happen."""

    needed_pulse_ms: float
    pulse_spare_ms: float
    needed_return_ms: float
    return_spare_ms: float

    @property
    def works(self) -> bool:
        """True when the pulse is seen and the output is back within the window."""
        return self.pulse_spare_ms >= 0 and self.return_spare_ms >= 0


@dataclass(frozen=True, slots=True)
class TestVerdict:
    """Outcome of one test and what to do."""

    outcome: Outcome
    says: str
    cycle_allowed: bool


VERDICTS: dict[tuple[Seen, Seen], TestVerdict] = {
    ("detect", "clear"): TestVerdict("healthy", "the sensor answered the test and returned: allow the cycle", True),
    ("detect", "detect"): TestVerdict("obstruction", "a real object or misalignment: treat as an obstruction", False),
    ("clear", "clear"): TestVerdict(
        "fault", "stuck, shorted or bypassed output, or test wire open or reversed: hold-to-run only", False
    ),
    ("clear", "detect"): TestVerdict("retest", "test not seen: polarity or timing wrong, or an object came", False),
}


def timing(times: PulseTimes) -> Timing:
    """Spare time of a test.

    The pulse must outlast response plus relay release. After release the output returns when the sensor has
    booted (only if its supply was interrupted), answered, held for its hold time and operated its relay; that
    must fit in the window. All in milliseconds.
    """
    values = (times.pulse_ms, times.window_ms, times.response_ms, times.relay_ms, times.hold_ms, times.boot_ms)
    if min(values) < 0:
        raise CalculationError("Times cannot be negative.")
    pulse = times.response_ms + times.relay_ms
    back = times.boot_ms + times.response_ms + times.hold_ms + times.relay_ms
    return Timing(pulse, times.pulse_ms - pulse, back, times.window_ms - back)


def verdict(during_test: Seen, after_test: Seen) -> TestVerdict:
    """What the output during and after the test means."""
    return VERDICTS[during_test, after_test]
