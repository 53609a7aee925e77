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


GOOD = PulseTimes(pulse=0.15, window=0.5, response=0.1, relay=0.02)


def test_a_sound_test_has_time_to_spare() -> None:
    found = timing(GOOD)
    assert found.works
    assert found.pulse_spare == pytest.approx(0.03)
    assert found.return_spare == pytest.approx(0.38)


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        (replace(GOOD, pulse=0.1), "pulse shorter than response plus relay release"),
        (replace(GOOD, boot=4.0), "test wired to the supply: boot exceeds the window"),
        (replace(GOOD, hold=1.0), "hold time outlasts the window"),
    ],
)
def test_the_usual_timing_faults(changed: PulseTimes, why: str) -> None:
    assert not timing(changed).works, f"{why} (common practice, no source)"


def test_negative_times_are_refused() -> None:
    with pytest.raises(CalculationError):
        timing(replace(GOOD, hold=-1))
