"""Photo-eyes, loops and radars, held to what a master of the trade would not sign before.

Source of what is asked: common practice where no standard is named.
"""

import pytest

from diagnose.model.knowledge import Cause
from diagnose.model.visit import Value
from tests.kb.test_dangerous import concluded
from tests.shipped import knowledge

STOP = "stop_protection_lost"


def told(cause: Cause) -> str:
    return " ".join(cause.remedy.steps).casefold()


# Photo-eyes.
BLIND_EYES = [
    "photo_eye_proxing", "photo_eye_cross_talk", "photo_eye_light_dark_wrong", "photo_eye_delay_set",
    "photo_eye_sync_wrong", "photo_eye_beam_height_wrong", "photo_eye_power_saving", "photo_eye_nest_inside",
    "photo_eye_heads_swapped", "photo_eye_receiver_on_test_supply", "photo_eye_far_from_leaf",
]  # fmt: skip


@pytest.mark.parametrize("cause", BLIND_EYES)
def test_a_gate_whose_eye_may_be_blind_does_not_stay_on_automatic(cause: str) -> None:
    assert "out of automatic" in told(knowledge().causes[cause])
    assert "or watched" not in told(knowledge().causes[cause])


def test_a_pair_turned_round_has_its_supplies_exchanged_and_its_test_proved() -> None:
    """Else the controller switches the receiver off for the test that it makes of the transmitter."""
    cause = knowledge().causes["photo_eye_cross_talk"]
    assert "exchange their supplies" in told(cause)
    assert {"supply", "test_input"} <= set(cause.remedy.touches)


def test_a_warning_lamp_on_mains_is_not_taken_off_by_anybody_for_a_test() -> None:
    test = knowledge().causes["photo_eye_lamp_feed"].test
    assert "licensed electrician" in test.split("ten travels")[0]


@pytest.mark.parametrize("cause", ["photo_eye_own_leaf", "photo_eye_on_leaf_warps"])
def test_work_at_the_leaf_is_done_with_the_drive_locked_off(cause: str) -> None:
    assert "lock the drive off" in told(knowledge().causes[cause])


def test_no_string_is_held_to_a_leaf_that_moves() -> None:
    test = knowledge().causes["photo_eye_own_leaf"].test
    assert "locked off" in test[: test.index("string")]


@pytest.mark.parametrize("cause", ["photo_eye_beam_height_wrong", "photo_eye_own_leaf"])
def test_a_new_post_is_set_by_somebody_who_looked_what_lies_below(cause: str) -> None:
    assert "buried_services" in knowledge().causes[cause].remedy.cautions


def test_a_second_pair_closes_the_gap_that_was_found() -> None:
    """On the other side of the leaf only, it would leave a person unseen where the gap is."""
    step = next(s for s in knowledge().causes["photo_eye_far_from_leaf"].remedy.steps if "second" in s)
    assert "same side" in step and "0.2 m" in step


@pytest.mark.parametrize("cause", ["photo_eye_heads_swapped", "photo_eye_receiver_on_test_supply"])
def test_a_transmitter_held_on_for_a_proof_goes_back_on_its_test(cause: str) -> None:
    proof = knowledge().causes[cause].proof
    assert "back on the test terminal" in proof[proof.index("held on") :]


def test_a_board_that_stops_two_beams_proves_neither() -> None:
    """Low and high beam on the same posts: 0.7 m of board hides that one lights the other's receiver."""
    text = knowledge().checks["eye_midway_board"].help
    assert "above, below or across" in text and "each beam" in text


def test_a_neighbour_whose_sender_is_off_has_no_protection() -> None:
    assert "out of automatic" in told(knowledge().causes["photo_eye_pairing_lost"])


@pytest.mark.parametrize("cause", ["photo_eye_water_in_head", "rad_hardware_failed"])
def test_a_head_made_for_indoors_is_not_replaced_by_its_like(cause: str) -> None:
    assert "made for outdoors" in told(knowledge().causes[cause])


# Loops: many plug-in detectors have mains on their socket, beside the terminals of the loop.
AT_THE_SOCKET = [
    "lop_surge_parts", "lop_reset", "lop_channel_watch", "lop_frequency_neighbour", "lop_frequency_own",
    "lop_neighbour_off", "lop_dummy_loop", "lop_resistance", "lop_insulation", "lop_inductance", "lop_wiggle",
    "lop_fault_output",
]  # fmt: skip


@pytest.mark.parametrize("check", AT_THE_SOCKET)
def test_terminals_beside_mains_are_left_alone(check: str) -> None:
    entry = knowledge().checks[check]
    assert "mains is on the socket, leave its terminals alone" in entry.help
    assert "mains_licensed" in entry.cautions


REWIRED = [
    "loop_wires_exchanged", "loop_fault_opens", "loop_fault_reads_free", "loop_series_opposed", "loop_drift",
    "loop_presence_time_out", "loop_feeder_long",
]  # fmt: skip


@pytest.mark.parametrize("cause", REWIRED)
def test_a_socket_on_mains_is_wired_by_a_licensed_electrician(cause: str) -> None:
    entry = knowledge().causes[cause]
    assert "licensed electrician" in told(entry) and "mains_licensed" in entry.remedy.cautions


@pytest.mark.parametrize("cause", ["loop_open", "loop_insulation_failed"])
def test_a_pit_is_looked_into_before_a_hand_goes_in(cause: str) -> None:
    entry = knowledge().causes[cause]
    assert "mains cables" in entry.remedy.steps[0] and "mains_licensed" in entry.remedy.cautions


def test_a_detector_on_a_wrong_socket_is_isolated_before_it_is_pulled() -> None:
    step = knowledge().causes["loop_detector_pins"].remedy.steps[0]
    assert step.index("Isolate") < step.index("ull the detector")


def test_a_borrowed_detector_leaves_its_own_lane_without_one() -> None:
    entry = knowledge().checks["lop_dummy_loop"]
    assert "gate of that lane is out of automatic" in entry.help and "prove_after" in entry.cautions


@pytest.mark.parametrize("check", ["lop_resistance", "lop_insulation", "lop_inductance", "lop_wiggle"])
def test_a_loop_without_its_detector_holds_no_gate(check: str) -> None:
    assert "Gate out of automatic" in knowledge().checks[check].help


@pytest.mark.parametrize(
    "cause", ["loop_line_uncovered", "loop_wrong_mode", "loop_fault_reads_free", "loop_boost_off"]
)
def test_a_gate_that_may_close_on_a_vehicle_is_not_left_on_automatic(cause: str) -> None:
    assert "out of automatic" in told(knowledge().causes[cause])


LOOP_STOPS: list[dict[str, Value]] = [
    {"lop_job": "holds_open", "lop_missed_kind": "high_beds"},
    {"lop_job": "holds_open", "lop_own_channel": "hole"},
    {"lop_job": "opens", "lop_own_channel": "other"},
    {"lop_job": "closes_behind", "lop_stand_min": 10, "lop_hold_min": 2},
    {"lop_job": "closes_behind", "lop_mode_setting": "pulse"},
    {"lop_job": "closes_behind", "lop_fault_output": "closes", "lamp_clear": "off"},
]


@pytest.mark.parametrize("answers", LOOP_STOPS, ids=lambda a: "-".join(map(str, a.values())))
def test_a_loop_that_lets_the_gate_close_on_a_vehicle_stops_the_work(answers: dict[str, Value]) -> None:
    assert STOP in concluded(answers).stop_work


LOOP_GOES_ON: list[dict[str, Value]] = [
    {"lop_job": "opens", "lop_missed_kind": "high_beds"},
    {"lop_job": "holds_open", "lop_own_channel": "own"},
    {"lop_job": "closes_behind", "lop_mode_setting": "pulse_leaving"},
    {"lop_job": "closes_behind", "lop_fault_output": "as_needed", "lamp_clear": "off"},
]


@pytest.mark.parametrize("answers", LOOP_GOES_ON, ids=lambda a: "-".join(map(str, a.values())))
def test_a_loop_that_does_its_job_stops_nobody(answers: dict[str, Value]) -> None:
    assert STOP not in concluded(answers).stop_work


# Radars.
IN_THE_HEAD = [
    "rad_sensitivity_high", "rad_sensitivity_low", "rad_direction_filter", "rad_hold_time_long",
    "rad_set_for_vehicles_only", "rad_filter_drops_wanted", "rad_vehicle_only_off", "rad_background_learned_wrong",
]  # fmt: skip


@pytest.mark.parametrize("cause", IN_THE_HEAD)
def test_a_setting_inside_a_high_head_is_reached_from_a_safe_ladder(cause: str) -> None:
    entry = knowledge().causes[cause].remedy
    assert entry.access == "up_the_post" and "ladder" in entry.cautions and "covers" in entry.touches


LOOKED_AT_HIGH_UP = ["rad_sensitivity_read", "rad_filter_read", "rad_mask_facing", "rad_background_relearn"]


@pytest.mark.parametrize("check", LOOKED_AT_HIGH_UP)
def test_a_head_out_of_reach_is_looked_at_from_a_safe_ladder(check: str) -> None:
    entry = knowledge().checks[check]
    assert entry.access == "up_the_post" and "ladder" in entry.cautions


def test_a_fan_on_mains_is_screened_by_an_electrician() -> None:
    step = next(s for s in knowledge().causes["rad_lamp_or_fan"].remedy.steps if "mesh" in s)
    assert "isolated" in step and "electrician" in step


def test_a_leaf_that_got_heavier_is_measured_again() -> None:
    cause = knowledge().causes["rad_sees_through_gate"]
    assert "lock the drive off" in told(cause) and "lock_off" in cause.remedy.cautions
    assert "mechanics" in cause.remedy.touches


@pytest.mark.parametrize("check", ["rad_mount_push", "rad_knock_test", "rad_spare_swap", "rad_background_relearn"])
def test_hands_at_the_mount_find_the_gate_out_of_automatic(check: str) -> None:
    entry = knowledge().checks[check]
    assert "out of automatic" in entry.help.casefold() and "moving_gate" in entry.cautions


def test_a_new_presence_device_owes_what_it_is_wired_to() -> None:
    cause = knowledge().causes["rad_motion_only_presence"]
    assert {"test_input", "supply", "protective_zone"} <= set(cause.remedy.touches)
    assert "out of automatic" in told(cause)


def test_turns_of_a_large_loop_may_be_shorted_inside_the_tuning_range() -> None:
    """200 microhenries that fell to 90 lie between 50 and 700, and the copper hardly shows it."""
    excluded = knowledge().rules["lop_sound_wire_and_inductance"].then.exclude
    assert "loop_turns_shorted" not in excluded and "loop_wrong_turns" in excluded


def test_a_stop_eye_that_loses_a_standing_vehicle_stops_the_work() -> None:
    given: dict[str, Value] = {"eye_job": "stops_closing", "lamp_vehicle": "drops"}
    assert STOP in concluded(given, **{"fitted.photo_eye": "fitted"}).stop_work
    assert STOP not in concluded({**given, "lamp_vehicle": "detecting"}, **{"fitted.photo_eye": "fitted"}).stop_work


def test_a_caller_is_asked_for_every_loop_of_the_gate() -> None:
    """A 'no' rules exchanged wires out; opening and holding loop lie on the two sides of the leaf."""
    check = knowledge().checks["lop_neighbour"]
    assert "either side" in str(check.ask_caller) and "from where you stand" in str(check.ask_caller)
