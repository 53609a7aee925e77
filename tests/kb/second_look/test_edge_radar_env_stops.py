"""Edges, radar, surroundings: which answers must stop work, and what a second reading of these subjects found.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

import re
from collections.abc import Mapping
from functools import cache
from math import radians, tan

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge


def told(cause: str) -> str:
    return " ".join(knowledge().causes[cause].remedy.steps).casefold()


@cache
def face_value() -> Reasoner:
    """What the entries themselves say, before tempering."""
    return Reasoner(at_face_value(knowledge()))


def concluded(answers: Mapping[str, Value], **profile: Value) -> Conclusion:
    asked_before: dict[str, dict[str, Value]] = {
        "edg_terminator_look": {"edg_kind": "wired_resistive"},
        "edg_after_contact": {"edg_press_test": "all"},
    }
    before = {k: v for check in answers for k, v in asked_before.get(check, {}).items()}
    given = [Answer(check, value) for check, value in {**before, **answers}.items()]
    return face_value().conclude(Setup(devices=("edge",), profile=profile), "intermittent", given)


NO_PROTECTION = [
    ("edg_cover_look", "none_at_draw_in"), ("edg_cover_look", "beside"), ("edg_cover_look", "part_height"),
    ("edg_cover_look", "gap"), ("edg_terminator_look", "at_box"), ("edg_after_contact", "short_held"),
    ("edg_after_contact", "no_reversal"), ("edg_after_contact", "tries_again"),
]  # fmt: skip


@pytest.mark.parametrize(("check", "answer"), NO_PROTECTION)
def test_an_edge_that_leaves_somebody_caught_stops_work(check: str, answer: str) -> None:
    assert "stop_protection_lost" in concluded({check: answer}).stop_work


@pytest.mark.parametrize(
    ("check", "answer"),
    [("edg_cover_look", "covered"), ("edg_after_contact", "opens_fully"), ("edg_after_contact", "short_free")],
)
def test_a_covered_place_and_a_freed_block_stop_nothing(check: str, answer: str) -> None:
    assert concluded({check: answer}).stop_work == ()


def test_a_resistive_edge_on_a_plain_input_stops_work_by_itself() -> None:
    """8.2 kohm is neither open nor closed: a press or a broken wire goes unseen, whichever way the input is made."""
    found = concluded({"edg_kind": "wired_resistive", "edg_input_look": "plain_input"})
    assert "stop_protection_lost" in found.stop_work


def test_a_plain_input_on_record_does_not_say_that_no_evaluator_stands_before_it() -> None:
    found = concluded({"edg_kind": "wired_resistive"}, **{"site.protective_input": "plain"})
    assert "edg_input_look" not in found.after.settled and found.stop_work == ()


def test_an_old_answer_strikes_out_no_optical_or_air_edge() -> None:
    """Optical and air edges were answered as switching ones before each had an answer of its own."""
    struck = set(concluded({"edg_kind": "wired_switching"}).after.excluded)
    assert not {c for c in struck if c.startswith(("edg_optical", "edg_air"))}
    assert "edg_radio_battery_flat" in struck


@pytest.mark.parametrize("kind", ["optical", "air"])
def test_each_kind_of_edge_keeps_what_only_it_has(kind: str) -> None:
    struck = set(concluded({"edg_kind": kind}).after.excluded)
    other = {"optical": "air", "air": "optical"}[kind]
    assert not any(c.startswith(f"edg_{kind}") for c in struck)
    assert any(c.startswith(f"edg_{other}") for c in struck)


def test_the_stand_in_for_an_edge_is_on_while_the_drive_is_locked_off() -> None:
    check = knowledge().checks["edg_resistor_test"]
    assert "lock_off" in check.cautions and "drive locked off" in check.help.casefold()


def test_no_test_of_an_air_edge_is_switched_off_for_peace() -> None:
    assert "leave the test switched on" in told("edg_air_pulse_missing")
    assert "never widen" in told("edg_air_warmed")
    assert "lightest press" in told("edg_air_too_sensitive")


def test_a_retroreflector_is_covered_not_turned() -> None:
    """Retroreflective sheeting sends light back far off square (public tables go to 30 and 40 degrees)."""
    for cause in ("reflector_or_mirror_in_view", "moving_reflector_blooms"):
        assert re.search(r"turning (it|alone) does not help", told(cause))


def test_how_far_two_scan_planes_part_is_worked_out() -> None:
    assert round(500 * tan(radians(2))) == 17 and "17 cm at 5 m" in " ".join(
        knowledge().causes["neighbour_scanner_interference"].remedy.steps
    )
    assert abs(100 * tan(radians(2)) - 3.5) < 0.05 and "3.5 cm" in knowledge().checks["env_neighbour_faces"].help


def test_a_radar_that_protects_keeps_seeing_people() -> None:
    assert "must see people" in knowledge().causes["rad_vehicle_only_off"].remedy.steps[0]


def test_a_flooded_drive_is_dead_before_anybody_pumps() -> None:
    remedy = knowledge().causes["pit_flooded"].remedy
    order = [next(i for i, s in enumerate(remedy.steps) if word in s) for word in ("Nobody", "Isolate", "Pump")]
    assert order == sorted(order) and remedy.who == "electrician" and "stop_water_in_mains" in remedy.cautions


def test_a_reversal_too_short_is_freed_everywhere_and_measured() -> None:
    cause = knowledge().causes["edg_short_reversal"]
    assert {"edge", "protective_zone"} <= set(cause.remedy.touches) and "150 N" in cause.proof


def test_a_closing_with_the_air_hose_off_is_held_to_run_in_full_view() -> None:
    """The controller tests this edge at the sill, so its proof needs one closing with a dead edge."""
    proof = knowledge().causes["edg_air_pulse_missing"].proof
    assert "hold-to-run with the whole travel in view" in proof and "pressed before anything else" in proof


def test_nobody_touches_an_electric_fence_for_the_gate() -> None:
    steps = knowledge().causes["electric_fence_pulses"].remedy.steps
    assert "owner switches the fence off" in steps[0] and "Nobody touches the fence wire" in steps[1]
    assert "Fence off" in knowledge().causes["electric_fence_pulses"].proof


def test_water_is_poured_into_a_drives_box_only_with_the_power_locked_off() -> None:
    assert knowledge().causes["pit_flooded"].proof.startswith("Power still off and locked")
