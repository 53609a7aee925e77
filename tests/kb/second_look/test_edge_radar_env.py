"""Edges, radar, surroundings: what was dangerous or wrong when a master of the trade read it stays mended.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

import pytest

from tests.shipped import knowledge


def told(cause: str) -> str:
    return " ".join(knowledge().causes[cause].remedy.steps).casefold()


# -- edges ------------------------------------------------------------


@pytest.mark.parametrize("check", ["edg_press_test", "edg_neighbour_radio", "edg_near_test", "edg_cable_apart"])
def test_an_edge_off_its_evaluator_or_pressed_by_hand_is_worked_at_with_the_drive_locked_off(check: str) -> None:
    entry = knowledge().checks[check]
    assert "lock_off" in entry.cautions and "drive locked off" in entry.help.casefold()


@pytest.mark.parametrize("check", ["edg_hand_move", "edg_cool_warm", "edg_press_test"])
def test_the_drive_is_off_and_the_device_still_has_its_supply(check: str) -> None:
    """One isolator usually takes both, so the step says how the drive alone is made dead."""
    assert "part the motor" in knowledge().checks[check].help


def test_the_gate_stands_while_a_resistor_protects_in_place_of_the_sender() -> None:
    says = knowledge().checks["edg_near_test"].help
    assert "gate stands as long as" in says.casefold() and "before the drive gets its power" in says


def test_no_movement_is_commanded_while_an_edge_wire_is_off() -> None:
    check = knowledge().checks["edg_unplug_test"]
    assert "No movement is commanded" in check.good and not check.runs_gate


def test_nobody_reaches_between_leaf_and_post_for_a_look() -> None:
    check = knowledge().checks["edg_end_look"]
    assert check.hazard and "moving_gate" in check.cautions and "drive locked off" in check.help


def test_the_stretch_in_which_a_press_is_ignored_is_never_made_longer() -> None:
    """A protective function is not narrowed to get rid of a nuisance."""
    cause = knowledge().causes["edg_pressed_at_end"]
    steps = told("edg_pressed_at_end")
    assert "never made longer" in steps and "else set the stretch" not in steps
    assert "no longer than before" in cause.proof and "protective_zone" in cause.remedy.touches


def test_a_hinge_is_loosened_only_with_the_leaf_held() -> None:
    """EN 12604 as restated publicly: a leaf is kept from falling. The holding is the first step."""
    remedy = knowledge().causes["edg_ground_strike"].remedy
    assert "lifting gear" in remedy.steps[0] and "before a hinge" in remedy.steps[0]
    assert {"manual_release", "stop_may_fall"} <= set(remedy.cautions)


def test_the_ground_gap_is_the_edges_own_figure() -> None:
    cause = knowledge().causes["edg_ground_strike"]
    assert "10 mm" not in cause.test + cause.proof and "papers ask" in cause.proof


@pytest.mark.parametrize("cause", ["edg_evaluator_failed", "edg_radio_receiver_failed", "rad_hardware_failed"])
def test_after_a_surge_all_protection_is_proved_and_ac_measured_first(cause: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert "protective_zone" in remedy.touches and "out of automatic" in remedy.steps[0]
    assert "every other protective device" in told(cause) and "low_voltage_source" in remedy.cautions


def test_water_stays_on_the_list_for_every_kind_of_edge() -> None:
    """Water in the bore is the classic fault of an optical edge; no kind may strike it out."""
    struck = [r for r in knowledge().rules.values() if "edg_water_in_edge" in r.then.exclude]
    assert not struck


def test_a_cap_that_may_carry_the_resistor_is_not_torn_off() -> None:
    check = knowledge().checks["edg_drain_look"]
    assert "may carry the resistor" in check.help and "prove_after" in check.cautions
