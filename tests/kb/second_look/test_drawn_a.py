"""Entries drawn at random that a strict master would not have signed, and their siblings, after mending."""

import re

import pytest

from diagnose.model.knowledge import Cause, Check
from tests.shipped import knowledge

WALKER_M_S = 1.6
ARM_M, STICK_M = 0.85, 0.3


def cause(key: str) -> Cause:
    return knowledge().causes[key]


def check(key: str) -> Check:
    return knowledge().checks[key]


def steps(key: str) -> str:
    return " ".join(cause(key).remedy.steps)


def number(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found, f"{pattern} is not said in: {text}"
    return float(found.group(1))


@pytest.mark.parametrize("key", ["lop_frequency_own", "mec_travel_look"])
def test_what_a_result_means_orders_no_work(key: str) -> None:
    assert "Change the frequency" not in check(key).bad and "Clear debris" not in check(key).bad


@pytest.mark.parametrize("key", ["lop_frequency_own", "lop_frequency_neighbour"])
def test_a_meter_on_loop_wires_waits_for_a_gate_out_of_automatic(key: str) -> None:
    assert "out of automatic while a meter is on" in check(key).help and "moving_gate" in check(key).cautions


def test_channels_of_a_scanning_detector_are_not_called_cross_talk() -> None:
    assert "one scanning detector may read the same" in check("lop_frequency_own").help


def test_a_loop_that_was_reset_is_seen_to_work_before_automatic() -> None:
    said = check("lop_reset")
    assert said.help.index("show a vehicle") < said.help.index("Only now the gate goes back to automatic")
    assert {"prove_after", "no_body_test"} <= set(said.cautions)


def test_the_distance_counts_the_walker_and_not_the_leaf_alone() -> None:
    """ISO 13855 takes the speed of the body that approaches."""
    said = steps("replacement_of_another_kind")
    leaf, whole = number(r"(0\.\d+) m/s and", said), number(r"and (0\.\d+) s give", said)
    assert number(r"give (\d\.\d+) m", said) == pytest.approx((leaf + WALKER_M_S) * whole)
    assert "leaf speed + 1.6 m/s" in cause("replacement_of_another_kind").test
    assert "at walking pace" in cause("replacement_of_another_kind").proof


NEW_DETECTOR = ["loop_lightning", "loop_detector_dead", "loop_drift", "loop_fault_reads_free"]


@pytest.mark.parametrize("key", NEW_DETECTOR)
def test_a_new_detector_gets_the_mode_and_presence_time_of_the_old(key: str) -> None:
    assert "arry over mode, presence time" in steps(key)
    assert "a parked car holds" in cause(key).proof


def test_surge_parts_are_off_the_loop_that_is_tested_at_500_volts() -> None:
    assert "detector and surge protection off the loop" in cause("loop_lightning").proof


NEW_HEAD = {
    "rad_face_covered": "gets the settings",
    "rad_mounted_too_high": "set by its own papers",
    "photo_eye_transmitter_dead": "no delay where it protects",
    "photo_eye_water_in_head": "no delay where it protects",
    "photo_eye_range_thin": "no delay where it protects",
    "photo_eye_proxing": "no delay where it protects",
    "housing_cracked": "copy the settings",
    "overhead_above_rated_height": "opy the settings",
    "window_misted_inside": "as in the record",
    "corrosive_air": "as in the record",
    "creatures_in_box": "first run is on hold-to-run",
    "edg_radio_receiver_failed": "as on the old one",
}


@pytest.mark.parametrize("key", NEW_HEAD)
def test_a_new_part_is_set_before_it_is_proved(key: str) -> None:
    assert NEW_HEAD[key] in steps(key)


CLEARED = [
    "snow_bank_in_area", "debris_in_area", "object_put_in_area", "vegetation_in_area", "window_dirty",
    "window_misted_outside", "window_misted_inside", "web_or_insects_at_window", "banner_loads_bracket",
    "view_blocked", "near_end_unwatched",
]  # fmt: skip


@pytest.mark.parametrize("key", CLEARED)
def test_nobody_clears_a_field_while_the_gate_may_close_as_it_gets_clear(key: str) -> None:
    assert cause(key).test.startswith("Gate out of automatic")


PRESSED_FIRST = {
    "edg_ice_debris": "ten closings",
    "edg_evaluator_failed": "ten drive starts",
    "edg_radio_pairing_lost": "ten full travels",
    "edg_radio_receiver_failed": "ten full travels",
    "edg_radio_sender_failed": "ten full travels",
    "edg_terminator_wrong": "five cycles",
    "edg_pressed_at_end": "ten closings",
    "edg_ground_strike": "ten motor travels",
    "edg_optical_heads_wrong": "five cycles",
    "edg_optical_light_weak": "ten motor travels",
    "edg_air_too_sensitive": "ten full travels",
    "edg_air_pulse_missing": "twenty closings",
    "edg_coils_out_of_line": "ten motor travels",
    "edg_rope_slack": "ten motor travels",
}


@pytest.mark.parametrize("key", PRESSED_FIRST)
def test_an_edge_is_pressed_with_the_drive_locked_off_before_the_gate_runs(key: str) -> None:
    proof, remedy = cause(key).proof.casefold(), cause(key).remedy
    pressed = re.search(r"\bpress(ed|es)?\b", proof)
    assert pressed and pressed.start() < proof.index(PRESSED_FIRST[key])
    assert "test_piece" in remedy.tools and {"lock_off", "no_body_test"} <= set(remedy.cautions)


SWAPS = ["eye_head_swap", "las_spare_swap", "rad_spare_swap", "lop_dummy_loop", "wir_temporary_cable"]


@pytest.mark.parametrize("key", SWAPS)
def test_a_swap_waits_long_enough_and_sees_the_trouble_return(key: str) -> None:
    said = check(key)
    assert "three usual gaps" in said.help and re.search(r"(Supply|Power) off", said.help)
    assert re.search(r"trouble (comes|is) back|trouble has to come back", said.help)


def test_two_dead_heads_are_not_called_good() -> None:
    said = check("eye_head_swap")
    assert "nor with both" in said.options["no_change"] and "both_cure" in said.options
    assert said.finding and "both_cure" not in said.finding.states


@pytest.mark.parametrize("text", [check("las_zone_walk").help, cause("object_there_at_teach").proof])
def test_a_hole_is_looked_for_as_finely_as_none_may_be(text: str) -> None:
    assert "one-metre grid" not in text
    assert number(r"lines (0\.\d+) m apart in the protective zone", text) <= 0.10


def test_settings_that_read_right_do_not_answer_the_look_at_the_switch() -> None:
    settled = [
        rule for rule in knowledge().rules.values() if dict(rule.then.settle).get("out_setting_look") == "as_recorded"
    ]
    assert not settled


def test_a_sound_thermostat_is_not_condemned_in_a_warm_cabinet() -> None:
    said, proof = steps("cabinet_heater_failed"), cause("cabinet_heater_failed").proof
    assert said.index("Turn the thermostat up") < said.index("If one has an open circuit")
    set_to, fails_under = number(r"thermostat to (\d+) C", said), number(r"Under (\d+) C", proof)
    assert set_to - fails_under >= 10  # its tolerance and its hysteresis, about 5 degrees each


def test_a_button_that_was_moved_as_told_passes_its_proof() -> None:
    said, proof = steps("exit_button_in_reach"), cause("exit_button_in_reach").proof
    assert number(r"stick of (\d\.\d+) m", proof) == STICK_M
    assert number(r"keep (\d\.\d+) m from each opening", said) > ARM_M + STICK_M


def test_no_size_is_asked_to_tell_a_cow_from_a_motorcycle() -> None:
    said = steps("herd_at_farm_gate")
    assert "tells no cow from a motorcycle" in said and "loop" in said
    assert "by the sensor or by what opens now" in cause("herd_at_farm_gate").proof


def test_a_closing_device_is_assigned_then_proved_then_closing_is_automatic() -> None:
    said = steps("auto_close_off")
    order = ["Assign the device", "prove every protective function", "Switch automatic closing on"]
    assert [said.index(word) for word in order] == sorted(said.index(word) for word in order)
    assert "test_input" in cause("auto_close_off").remedy.touches


def test_the_wrong_input_is_found_also_where_a_right_one_exists() -> None:
    assert "at the input in use" in cause("output_test_pulses_seen").test


def test_a_sensor_without_a_lamp_is_not_called_dead_and_a_message_is_no_falling_supply() -> None:
    said = check("power_lamp")
    assert "cannot tell" in said.ask_caller and "lamp is there" in said.caller_options["off"]
    assert "even blink" in said.options["steady"] and "blinks on and off" not in said.options["flickers"]
