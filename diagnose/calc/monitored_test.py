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
    """Times, all in one unit. `boot` is 0 unless the test interrupts the sensor's supply."""

    pulse: float
    window: float
    response: float
    relay: float
    hold: float = 0.0
    boot: float = 0.0


@dataclass(frozen=True, slots=True)
class Timing:
    """Needed and spare times, in the unit of the given ones; a negative spare is a false fault waiting to happen."""

    needed_pulse: float
    pulse_spare: float
    needed_return: float
    return_spare: float

    @property
    def works(self) -> bool:
        """True when the pulse is seen and the output is back within the window."""
        return self.pulse_spare >= 0 and self.return_spare >= 0


@dataclass(frozen=True, slots=True)
class Verdict:
    """Outcome of one test and what to do."""

    outcome: Outcome
    says: str
    cycle_allowed: bool


VERDICTS: dict[tuple[Seen, Seen], Verdict] = {
    ("detect", "clear"): Verdict("healthy", "the sensor answered the test and returned: allow the cycle", True),
    ("detect", "detect"): Verdict("obstruction", "a real object or misalignment: treat as an obstruction", False),
    ("clear", "clear"): Verdict(
        "fault", "stuck, shorted or bypassed output, or test wire open or reversed: hold-to-run only", False
    ),
    ("clear", "detect"): Verdict("retest", "test not seen: polarity or timing wrong, or an object came", False),
}


def timing(times: PulseTimes) -> Timing:
    """Spare time of a test.

    The pulse must outlast response plus relay release. After release the output returns when the sensor has
    booted (only if its supply was interrupted), answered, held for its hold time and operated its relay; that
    must fit in the window.
    """
    values = (times.pulse, times.window, times.response, times.relay, times.hold, times.boot)
    if min(values) < 0:
        raise CalculationError("Times cannot be negative.")
    pulse = times.response + times.relay
    back = times.boot + times.response + times.hold + times.relay
    return Timing(pulse, times.pulse - pulse, back, times.window - back)


def verdict(during_test: Seen, after_test: Seen) -> Verdict:
    """What the output during and after the test means."""
    return VERDICTS[during_test, after_test]
