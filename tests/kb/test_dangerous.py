"""Entries that could hurt somebody when a master of the trade read them: each is held to what he asked for.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

from collections.abc import Mapping

import pytest

from diagnose.core.reason import Conclusion
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge, reasoner

PROTECTION = {"protective_zone", "test_input", "edge"}


def concluded(answers: Mapping[str, Value], complaint: str = "intermittent", **profile: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return reasoner().conclude(Setup(electrician=True, profile=profile), complaint, given)


def test_a_new_drive_relay_has_every_protective_function_proved() -> None:
    """The reversal runs through the part that was changed."""
    cause = knowledge().causes["drive_relay_failed"]
    assert set(cause.remedy.touches) >= PROTECTION
    assert "hits_vehicle" in cause.complaints


def test_nobody_is_told_that_a_limit_ends_a_welded_relay() -> None:
    cause = knowledge().causes["drive_relay_failed"]
    assert "until a limit" not in cause.explain
    assert "past its limit" in cause.explain
    assert "isolate at once" in cause.test.casefold()


@pytest.mark.parametrize("cause", ["edg_coil_cord_short", "edg_cable_broken_moving"])
def test_an_edge_off_its_evaluator_is_never_run_under_power(cause: str) -> None:
    """With the cord or cable off the edge is dead, so its ten travels are made by hand, drive locked off."""
    entry = knowledge().causes[cause]
    assert "Drive locked off, leaf moved by hand" in entry.proof
    assert "before the drive gets its power back" in entry.proof
    assert {"lock_off", "manual_release"} <= set(entry.remedy.cautions)
