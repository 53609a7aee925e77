"""Laser, photo-eye and loop: what a strict reviewer would find, said once more as tests.

Ids of entries are named, never cases.
"""

from collections.abc import Mapping
from functools import cache

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Role, Setup, Value
from tests.shipped import knowledge

STOP = "stop_protection_lost"


@cache
def face_value() -> Reasoner:
    return Reasoner(at_face_value(knowledge()))


def concluded(device: str, answers: Mapping[str, Value], role: Role = "technician") -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    setup = Setup(devices=(device,), role=role, electrician=role == "technician")
    return face_value().conclude(setup, "intermittent", given)


def ruled_out(device: str, answers: Mapping[str, Value], role: Role) -> set[str]:
    """Entries that these answers strike off, seen from what the same person without them still has."""
    left = {cause for cause, share in concluded(device, answers, role).belief.ranked() if share}
    return {cause for cause, share in concluded(device, {}, role).belief.ranked() if share} - left


GUESSES = [
    ("loop", {"lop_job": "opens"}, "loop_fault_reads_free"),
    ("loop", {"lop_neighbour": "no"}, "loop_cross_talk"),
    ("photo_eye", {"eye_neighbour_pair": "no"}, "photo_eye_cross_talk"),
    ("photo_eye", {"eye_kind": "cable_free"}, "photo_eye_heads_swapped"),
    ("photo_eye", {"eye_kind": "reflector"}, "photo_eye_transmitter_dead"),
    ("laser", {"las_service_years": "under_2"}, "laser_emitter_aged"),
]


@pytest.mark.parametrize(("device", "answers", "cause"), GUESSES)
def test_a_caller_strikes_nothing_off_that_he_cannot_see(device: str, answers: dict[str, Value], cause: str) -> None:
    """Cables, other lanes, ducts and jobs are not seen from the kerb; on site they are."""
    assert cause in ruled_out(device, answers, "technician")
    assert cause not in ruled_out(device, answers, "help_desk")


def test_a_post_of_its_own_is_cleared_only_when_it_was_seen_to_be_still() -> None:
    """Its foundation may be the drive's, which nobody sees from outside."""
    own = {"las_shared_mount": "own_post"}
    assert "mounting_shakes_with_drive" not in ruled_out("laser", own, "technician")
    assert "mounting_shakes_with_drive" in ruled_out("laser", {**own, "las_post_tremble": "still"}, "technician")


@pytest.mark.parametrize("answer", [{"lop_missed_kind": "high_beds"}, {"lop_own_channel": "hole"}])
def test_a_closing_loop_that_loses_a_vehicle_stops_work(answer: dict[str, Value]) -> None:
    """It takes the loss for leaving, and closes on what still stands there; an opening loop only does not open."""
    assert STOP in concluded("loop", {"lop_job": "closes_behind", **answer}).stop_work
    assert STOP not in concluded("loop", {"lop_job": "opens", **answer}).stop_work


def test_a_loop_that_sees_all_does_not_contradict_a_gate_that_misses_some() -> None:
    """The gate may ignore what its loop reports."""
    assert "complaint" not in dict(knowledge().rules["lop_nothing_missed_against_lamp"].when)


# Whose lane is closed and whose timers are off by the access already, as a master read it.
CLOSED_OFF = {"photo_eye_post_sags"}
WORKED_ON = sorted(c for c in knowledge().causes if c.startswith("photo_eye_") and c not in CLOSED_OFF)


@pytest.mark.parametrize("cause", WORKED_ON)
def test_nobody_works_at_a_photo_eye_with_the_gate_on_automatic(cause: str) -> None:
    assert "out of automatic" in " ".join(knowledge().causes[cause].remedy.steps).lower()


ADDED = {
    "loop_line_uncovered",
    "loop_drawbar_gap",
    "loop_sees_leaf",
    "threshold_strip_gap",
    "long_tail_outside_zone",
    "clear_load_missed",
    "hinge_side_unwatched",
    "presence_timeout",
}


@pytest.mark.parametrize("cause", sorted(ADDED))
def test_a_device_that_is_added_is_owed_its_own_proofs(cause: str) -> None:
    owed = {"bracket", "covers", "supply", "protective_zone", "test_input"}
    assert owed <= set(knowledge().causes[cause].remedy.touches)


@pytest.mark.parametrize("check", ["lop_wiggle", "lop_press_test"])
def test_a_loop_check_that_also_needs_the_cabinet_says_what_is_in_it(check: str) -> None:
    assert "mains_inside" in knowledge().checks[check].cautions
