"""Entries of controller, mechanics and use that a master would not have signed, as they stand after mending.

Common practice where no standard is named; EN 12453 for the force limits, as restated publicly.
"""

import re

import pytest

from diagnose.model.knowledge import Cause
from tests.shipped import knowledge

NEW_BOARD = {"controller", "mechanics", "protective_zone", "test_input", "edge", "bridges"}
SPRUNG = ("barrier_spring_unbalanced", "arm_off_or_damaged")


def cause(key: str) -> Cause:
    return knowledge().causes[key]


def steps(key: str) -> str:
    return " / ".join(cause(key).remedy.steps)


def forced(key: str) -> bool:
    return "force_gauge" in cause(key).remedy.tools and "150 N after 0.75 s" in cause(key).proof


def test_a_gate_without_protection_does_not_close_on_a_single_command() -> None:
    """Automatic closing left off is not enough: a remote still closes it on whoever stands there."""
    said = next(s for s in cause("auto_close_off").remedy.steps if "nothing protects" in s)
    assert "hold-to-run only" in said and "remote" in cause("auto_close_off").proof


def test_a_misassigned_protective_sensor_takes_the_gate_out_of_automatic_first() -> None:
    first = cause("input_wrong_function").remedy.steps[0]
    assert "protective" in first and "out of automatic" in first
    assert "test_input" in cause("input_wrong_function").remedy.touches


def changes_a_board(c: Cause) -> bool:
    return bool(re.search(r"chang\w+ (the|a) (\w+ )*board", " / ".join(c.remedy.steps).lower()))


def test_whoever_changes_the_board_owes_what_a_new_board_touches() -> None:
    """It may come with links beside the devices, another direction and another force."""
    mine = (c for c in knowledge().causes.values() if c.family in ("controller", "mechanics") and changes_a_board(c))
    assert [c.id for c in mine if not set(c.remedy.touches) >= NEW_BOARD - {"bridges"}] == []


@pytest.mark.parametrize(
    "key", ["input_terminal_failed", "controller_water_ingress", "sensor_supply_output_failed", "warning_lamp_blocks"]
)
def test_a_board_changed_on_the_way_is_proved_like_a_failed_one(key: str) -> None:
    assert set(cause(key).remedy.touches) >= NEW_BOARD and "force_gauge" in cause(key).remedy.tools
    said = steps(key)
    assert "Links that come with it" in said and said.index("hold-to-run") < said.index("force measured")


def test_a_feed_that_the_controller_switches_for_its_test_is_not_moved() -> None:
    said = next(s for s in cause("sensor_supply_output_failed").remedy.steps if "separate isolated supply" in s)
    assert "no test reaches it" in said and "refuses automatic" in cause("sensor_supply_output_failed").proof


def test_a_reversal_is_judged_in_automatic_with_somebody_at_the_stop() -> None:
    """On hold-to-run many controllers only stop, so 'ignored' from there says nothing."""
    check = knowledge().checks["ctl_protective_travel"]
    assert "second person at the stop" in check.help and "counts only where it reversed" in check.help
    said = steps("controller_mode_wrong")
    assert said.index("second person at the stop") < said.index("reverses it") < said.index("three cycles")


def test_a_low_voltage_motor_is_not_tested_with_500_v() -> None:
    """IEC 60364-6, as restated publicly: circuits of extra-low voltage are tested with 250 V."""
    assert "250 V" in steps("drive_relay_failed")


def test_nobody_wets_a_live_lamp_or_stands_on_the_ladder_while_it_is_tried() -> None:
    proof = cause("warning_lamp_blocks").proof
    assert "spray the lamp meanwhile" not in proof
    assert proof.index("lock off") < proof.index("wet the shut") < proof.index("come down") < proof.index("Power on")


def test_nobody_reaches_behind_a_gate_that_can_start() -> None:
    said = steps("opening_side_protection_acts")
    assert said.index("lock off") < said.index("Take away what touches it")


@pytest.mark.parametrize("key", SPRUNG)
def test_a_sprung_arm_is_locked_off_and_secured_before_hands_come_near(key: str) -> None:
    """An arm holder without its arm is thrown up by its spring, whatever the drive does."""
    said = steps(key)
    assert said.index("lock off") < said.index("competent person") < said.index("least tension")


def test_a_clamp_round_mains_is_not_the_spring_fitters_work() -> None:
    proof = cause("barrier_spring_unbalanced").proof
    assert "licensed person" in proof[: proof.index("motor current")]
    assert "mains_licensed" in cause("barrier_spring_unbalanced").remedy.cautions


def test_the_force_is_lowered_only_with_the_drive_locked_off_for_the_drag() -> None:
    said = steps("force_set_too_high")
    assert said.index("lock off") < said.index("Remove the drag")
    assert {"lock_off", "manual_release", "stored_motion"} <= set(cause("force_set_too_high").remedy.cautions)


@pytest.mark.parametrize("key", ["drag_in_travel", "drive_overruns", "drive_overheated", "motor_brake_sticks"])
def test_force_is_measured_where_brake_drive_or_drag_was_changed(key: str) -> None:
    """The proof of the mechanics asks for it; a leaf made light is pushed harder by the same setting."""
    assert forced(key) and "protective_zone" in cause(key).remedy.touches


def test_a_limit_that_switches_the_motor_is_for_the_licensed_person() -> None:
    assert "licensed person" in steps("limit_switch_misplaced")


def test_a_brake_that_sticks_is_mended_and_never_wedged_open() -> None:
    said = steps("motor_brake_sticks")
    assert said.index("Hold or block") < said.index("Clean it") and "never wedged open" in said
    assert (
        "stays there" in cause("motor_brake_sticks").proof and cause("motor_brake_sticks").remedy.who == "electrician"
    )


def test_the_leaf_released_first_is_the_one_that_covers() -> None:
    assert "outer one" not in steps("leaf_order_or_delay_wrong")
    assert "covers the other" in steps("leaf_order_or_delay_wrong")


@pytest.mark.parametrize("key", ["mec_wicket_bolt", "mec_oil_look"])
def test_a_caller_looks_from_further_off_than_the_gate_is_high(key: str) -> None:
    assert "further away than it is high" in knowledge().checks[key].stand


@pytest.mark.parametrize(
    ("key", "option", "normal"),
    [
        ("ctl_after_power", "stays_a_while", "as_before"),
        ("use_set_aside", "renewed", "in_place"),
        ("use_round_look", "tied_to_post", "all_right"),
    ],
)
def test_an_answer_of_no_consequence_counts_as_normal(key: str, option: str, normal: str) -> None:
    finding = knowledge().checks[key].finding
    states = finding.states if finding else {}
    assert next(s for s, answers in states.items() if option in answers) == normal


def caller_steps(key: str) -> tuple[str, ...]:
    told = cause(key).caller
    return told.steps if told else ()


@pytest.mark.parametrize("key", ["free_exit_tricked", "exit_button_in_reach"])
def test_nobody_reaches_in_from_outside_while_the_gate_can_open(key: str) -> None:
    """The trick that is tried opens the gate onto whoever tries it."""
    c = cause(key)
    assert "ocked off" in c.test.split(".")[0] and "ocked off" in c.proof.split(".")[0]
    assert "lock_off" in c.remedy.cautions


def test_a_caller_switches_the_other_gate_off_before_reaching_towards_it() -> None:
    """What is said before every caller's steps is about the gate of the visit; the stone lies in another one."""
    said = " ".join(caller_steps("interlock_waits"))
    assert said.index("other one off") < said.index("Take away")


def test_a_caller_looks_at_the_path_before_a_programme_is_ended() -> None:
    said = " ".join(caller_steps("hold_open_programme"))
    assert said.index("in its path") < said.index("end it")


def test_a_caller_who_does_not_know_of_a_lock_rules_none_out() -> None:
    assert "know of" not in knowledge().checks["mec_lock_look"].caller_options["not_fitted"]
