"""The monitored test: timing by hand, verdicts from the four possible outcomes."""

from dataclasses import replace

import pytest

from diagnose.calc.contacts import Seen
from diagnose.calc.monitored_test import Outcome, PulseTimes, timing, verdict
from diagnose.errors import CalculationError

MONITORING = "[C] from the purpose of monitoring, 16 CFR 1211.8(b) [L]"


@pytest.mark.parametrize(
    ("during", "after", "outcome", "cycle_allowed", "source"),
    [
        ("detect", "clear", "healthy", True, MONITORING),
        ("detect", "detect", "obstruction", False, MONITORING),
        ("clear", "clear", "fault", False, MONITORING),
        ("clear", "detect", "retest", False, MONITORING),
    ],
)
def test_the_four_outcomes(during: Seen, after: Seen, outcome: Outcome, cycle_allowed: bool, source: str) -> None:
    found = verdict(during, after)
    assert (found.outcome, found.cycle_allowed) == (outcome, cycle_allowed), source


GOOD = PulseTimes(pulse_ms=150.0, window_ms=500.0, response_ms=100.0, relay_ms=20.0)


def test_a_sound_test_has_time_to_spare() -> None:
    found = timing(GOOD)
    assert found.works
    assert found.pulse_spare_ms == pytest.approx(30.0)
    assert found.return_spare_ms == pytest.approx(380.0)


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        (replace(GOOD, pulse_ms=100.0), "pulse shorter than response plus relay release"),
        (replace(GOOD, boot_ms=4000.0), "test wired to the supply: boot exceeds the window"),
        (replace(GOOD, hold_ms=1000.0), "hold time outlasts the window"),
    ],
)
def test_the_usual_timing_faults(changed: PulseTimes, why: str) -> None:
    assert not timing(changed).works, f"{why} (common practice, no source)"


def test_negative_times_are_refused() -> None:
    with pytest.raises(CalculationError):
        timing(replace(GOOD, hold_ms=-1))
