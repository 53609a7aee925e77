"""Entries that could hurt somebody when a master of the trade read them: each is held to what he asked for.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

from collections.abc import Mapping

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
