"""Entries that strict masters, who drew them at random, would not have signed: edges, swaps, orders and numbers."""

import math

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
STOP = "stop_protection_lost"


def concluded(*devices: str, **answers: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return READ.conclude(Setup(devices=devices), "intermittent", given)


def stops(*devices: str, **answers: Value) -> bool:
    return STOP in concluded(*devices, **answers).stop_work


@pytest.mark.parametrize("check", ["edg_pair_again", "edg_swap_evaluator", "edg_unplug_test"])
def test_nobody_presses_an_edge_whose_drive_can_start(check: str) -> None:
    entry = knowledge().checks[check]
    assert "Drive locked off" in entry.help and "with a block" in entry.help
    assert {"lock_off", "no_body_test", "remotes_kept"} <= set(entry.cautions) and "test_piece" in entry.tools


def test_a_fresh_battery_is_not_taken_for_a_pairing() -> None:
    entry = knowledge().checks["edg_pair_again"]
    assert entry.help.index("Fresh battery") < entry.help.index("do not pair")
    assert "battery_did" in entry.options and entry.finding and "battery_did" not in entry.finding.states


@pytest.mark.parametrize("pressed", [1500.0, 4100.0, 5800.0, 8200.0])
def test_a_press_that_reads_over_a_kilo_ohm_stops_work(pressed: float) -> None:
    """Whatever the free line read: the evaluator may not take it for a press."""
    asked: dict[str, Value] = {"edg_resistance_free": 8200.0, "edg_resistance_pressed": pressed}
    assert stops("edge", edg_kind="wired_resistive", edg_terminator_expected=8200.0, **asked)


def test_a_good_press_stops_nothing() -> None:
    asked: dict[str, Value] = {"edg_resistance_free": 8200.0, "edg_resistance_pressed": 60.0}
    assert not stops("edge", edg_kind="wired_resistive", edg_terminator_expected=8200.0, **asked)


@pytest.mark.parametrize(("free", "found"), [(5800.0, "no_change"), (8200.0, "weak")])
def test_a_pressed_reading_is_held_against_the_free_one(free: float, found: str) -> None:
    """20 kohm of water across 8.2 kohm reads 5.8 kohm, pressed as well as free where the contacts do not touch."""
    assert pytest.approx(5.8, abs=0.05) == 1 / (1 / 20 + 1 / 8.2)
    asked: dict[str, Value] = {"edg_resistance_free": free, "edg_resistance_pressed": 5800.0}
    given = concluded("edge", edg_kind="wired_resistive", edg_terminator_expected=8200.0, **asked)
    assert ("edg_pressed_found", found) in given.after.facts


def test_a_press_that_reads_open_under_a_healthy_lamp_stops_work() -> None:
    asked: dict[str, Value] = {"edg_resistance_free": 10000.0, "edg_resistance_pressed": 10000.0}
    known: dict[str, Value] = {"edg_kind": "wired_resistive", "edg_terminator_expected": 8200.0}
    assert stops("edge", lamp_clear="clear", **known, **asked)
    assert not stops("edge", lamp_clear="detecting", **known, **asked)


@pytest.mark.parametrize("check", ["edg_swap_evaluator", "out_spare_contact"])
def test_what_a_swap_cured_is_seen_to_return_with_the_old_part(check: str) -> None:
    entry = knowledge().checks[check]
    assert "not_showing" in entry.options and entry.finding and "not_showing" not in entry.finding.states
    assert "three usual gaps" in entry.help and "only if the trouble returns" in entry.help


def test_a_protective_laser_that_is_switched_off_stops_work() -> None:
    assert stops("laser", las_housing_look="cracked", out_which_output="protective")
    assert not stops("laser", las_housing_look="cracked", out_which_output="activation")
    said = knowledge().rules["las_cracked_housing_laser"].says
    assert said.index("out of automatic") < said.index("stays off")


@pytest.mark.parametrize("seen", ["standing_only", "passing_only", "neither", "lamp_missed"])
def test_a_protective_output_that_misses_one_vehicle_stops_work(seen: str) -> None:
    assert stops("laser", out_passing_vehicle=seen, out_which_output="protective")


def test_only_what_protects_or_may_protect_stops_work_when_it_is_delayed() -> None:
    assert stops("laser", use_set_aside="timer_in_line")
    assert "timer_opening" in knowledge().checks["use_set_aside"].options
    assert not stops("laser", use_set_aside="timer_opening")


def test_the_gate_leaves_automatic_before_the_technician_leaves_the_wasps() -> None:
    steps = knowledge().causes["photo_eye_nest_inside"].remedy.steps
    assert "out of automatic" in steps[0] and "wasps" in steps[1]
    said = knowledge().checks["eye_head_inside"].help
    assert said.index("out of automatic") < said.index("wasps")


def test_the_gap_at_a_hinge_is_judged_for_a_hand_and_an_arm_too() -> None:
    """EN ISO 13854 as restated publicly: 25 mm for a finger, 100 for a hand, 120 for an arm."""
    cause = knowledge().causes["hinge_side_unwatched"]
    assert "under 120 mm" in cause.test and "120 mm block" in cause.proof and "is free at once" in cause.proof


def test_a_distance_from_a_transmitter_keeps_the_field_small() -> None:
    """Far field of a short aerial: root of 30 times power times 1.64, over the distance; 3 V/m: homes."""
    steps = " ".join(knowledge().causes["strong_transmitter_near"].remedy.steps)
    assert "10 m for a hand-held set, 50 m for a 25 W set" in steps
    assert math.sqrt(30 * 5 * 1.64) / 10 < 3 and math.sqrt(30 * 25 * 1.64) / 50 < 3 < math.sqrt(30 * 25 * 1.64) / 10


def test_nobody_is_shut_in_between_a_rolling_leaf_and_its_post() -> None:
    for check in ("mec_drag_where", "mec_hand_push_n"):
        entry = knowledge().checks[check]
        assert "Nobody stands between the leading edge and the post" in entry.help
        assert "moving_gate" in entry.cautions and "pull_scale" in entry.tools


def test_a_check_that_runs_the_gate_first_is_marked_and_locks_off_before_hands() -> None:
    entry = knowledge().checks["las_part_clearance"]
    assert entry.runs_gate and "mains_licensed" in entry.cautions
    assert entry.help.index("run the gate") < entry.help.index("lock the drive off") < entry.help.index("ruler")


def test_a_scan_along_the_leaf_is_not_measured_as_one_across_it() -> None:
    assert concluded("laser", las_mounting="on_leaf").after.settled["las_part_clearance"][0] == "skip"
    assert "las_part_clearance" not in knowledge().causes["leaf_scan_meets_leaf"].signs


@pytest.mark.parametrize("cause", ["rad_sensitivity_high", "loop_sensitivity_high"])
def test_a_setting_lowered_for_a_trial_is_noted_and_set_back(cause: str) -> None:
    said = knowledge().causes[cause].test
    assert "out of automatic" in said and "the old" in said.split("three usual gaps")[1]


def test_a_leaf_that_leans_is_looked_for_before_the_run() -> None:
    entry = knowledge().checks["manual_command"]
    assert entry.help.index("Never run a leaf that leans") < entry.help.index("one full cycle")
    assert "held_travel" in entry.options and entry.finding and "held_travel" not in entry.finding.states


def test_a_battery_is_loaded_only_when_charged_and_alone() -> None:
    said = knowledge().checks["sup_battery_load"].help
    assert "12.5 V or more" in said and "panel off" in said and "cannot check" in said


def test_a_thin_core_is_pulled_as_hard_as_its_size_bears() -> None:
    said = knowledge().checks["wir_terminal_tug"].help
    assert "0.34 mm2 takes 15 N" in said and "0.2 mm2 only 10 N" in said
