"""Supply, wiring, outputs and the monitored test, as a strict reviewer reads them: what lost a protection or
called a sound gate faulty before.

Source of what is asked: common practice where no standard is named.
"""

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Role, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
NEW_FEEDS = (
    "dc_supply_overloaded",
    "supply_sags_at_motor_start",
    "long_thin_cable_drop",
    "shared_thin_cable",
    "ac_on_dc_device",
    "posts_at_different_earth",
)
AT_BOTH_ENDS = ("wir_core_ohms", "wir_insulation", "wir_joint_drop", "wir_temporary_cable", "wir_shield_look")
NEW_HEADS = ("supply_too_low_for_sensor", "activation_used_for_protection", "setting_switch_half_way")


def concluded(answers: dict[str, Value], role: Role = "technician") -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return READ.conclude(Setup(role=role, electrician=True), "intermittent", given)


@pytest.mark.parametrize("cause", NEW_FEEDS)
def test_a_new_feed_does_not_take_the_monitored_test_away(cause: str) -> None:
    """A controller that tests by switching the supply tests nothing once the sensor has a feed of its own."""
    remedy = knowledge().causes[cause].remedy
    assert any("that same switch" in step for step in remedy.steps)
    assert "test_input" in remedy.touches


def test_a_head_that_was_turned_for_a_proof_is_set_back_and_sees_again() -> None:
    proof = knowledge().causes["reference_target_unfit"].proof
    assert proof.index("Turn the head") < proof.index("Set it back") < proof.index("sees the test piece")


@pytest.mark.parametrize("cause", NEW_HEADS)
def test_a_new_sensor_leaves_its_bracket_and_zones_to_be_proved(cause: str) -> None:
    assert {"bracket", "activation_zone", "protective_zone"} <= set(knowledge().causes[cause].remedy.touches)


@pytest.mark.parametrize("check", AT_BOTH_ENDS)
def test_whoever_works_at_both_ends_of_a_run_is_warned_of_the_cabinet(check: str) -> None:
    assert "mains_inside" in knowledge().checks[check].cautions


def test_an_edge_is_pressed_with_the_drive_locked_off() -> None:
    check = knowledge().checks["mon_two_channels"]
    assert "lock_off" in check.cautions and "motor plug out" in check.help


def test_a_sound_long_pair_passes_its_proof() -> None:
    """IEC 60228: 100 m of 0.5 mm2 have 7 to 8 ohm out and back, so no fixed 5 ohm decides."""
    proof = knowledge().causes["test_wire_broken"].proof
    assert "what its length gives" in proof and "5 ohm." not in proof.replace("0.5 ohm", "")


@pytest.mark.parametrize("role", ["technician", "help_desk"])
def test_a_caller_who_knows_of_no_battery_does_not_clear_the_mains(role: Role) -> None:
    found = concluded({"sup_power_kind": "mains", "manual_command": "full_cycle"}, role)
    assert ("mains_lost" in found.after.excluded) == (role == "technician")


def test_a_flat_battery_on_a_good_panel_is_no_contradiction() -> None:
    readings: dict[str, Value] = {"sup_power_kind": "solar", "sup_battery_nominal": 12.0, "sup_battery_rest": 11.8}
    found = concluded({**readings, "sup_panel_charge": 13.6, "sup_panel_look": "clean", "sup_sun_link": "no_link"})
    assert "sup_unload_test" in found.after.unlocked  # the rule did fire
    assert not found.after.contradictions
