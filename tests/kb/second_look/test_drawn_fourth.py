"""Entries that masters, who drew them at random a fourth time, would not have signed, as they stand after mending.

What can be worked out is worked out here: light, volts, gaps and how far a person walks.
"""

import re

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.knowledge import Cause, Check
from diagnose.model.visit import Answer, Role, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
STOP = "stop_protection_lost"
OUT = "out of automatic"
WALK_M_S = 1.6


def concluded(*devices: str, role: Role = "technician", **answers: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    setup = Setup(devices=devices or ("laser",), electrician=True, role=role)
    return READ.conclude(setup, "intermittent", given)


def stops(*devices: str, **answers: Value) -> bool:
    return STOP in concluded(*devices, role="technician", **answers).stop_work


def cause(key: str) -> Cause:
    return knowledge().causes[key]


def check(key: str) -> Check:
    return knowledge().checks[key]


def numbers(pattern: str, text: str) -> list[float]:
    found = [float(n) for n in re.findall(pattern, text)]
    assert found, f"{pattern} is not said in: {text}"
    return found


def steps(key: str) -> tuple[str, ...]:
    return tuple(cause(key).remedy.steps)


def test_ten_cycles_for_the_list_wait_while_work_is_stopped() -> None:
    entry = check("mec_obstruction_log")
    assert entry.runs_gate and entry.hazard and "moving_gate" in entry.cautions
    assert "Nobody in the path" in entry.help


def test_a_sensor_that_protects_and_is_blind_to_lorries_stops_work() -> None:
    assert stops("laser", las_trailer_test="never_on")
    assert not stops("laser", las_trailer_test="never_opening_only")
    assert not stops("laser", las_trailer_test="holds")


def test_what_never_comes_on_is_weighed() -> None:
    finding = check("las_trailer_test").finding
    assert finding
    seen = {answer for answers in finding.states.values() for answer in answers}
    assert {"never_on", "never_opening_only"} <= seen


@pytest.mark.parametrize("found", ["hole", "shifted", "mirrored"])
def test_a_protective_zone_that_was_measured_wrong_stops_work(found: str) -> None:
    assert stops("laser", las_zone_walk=found)
    opening = concluded("laser", las_zone_walk=f"{found}_opening")
    assert STOP not in opening.stop_work
    assert "prove_after" in opening.after.cautions


@pytest.mark.parametrize("found", ["other_set", "wrong_scale", "mirrored", "factory_defaults"])
def test_a_foreign_zone_of_a_sensor_that_protects_stops_work(found: str) -> None:
    assert stops("laser", las_zone_map=found, las_mask_test="detects")
    assert not stops("laser", las_zone_map=found, las_mask_test="detects_opening_sensor")


def test_a_foreign_profile_of_a_sensor_that_protects_stops_work() -> None:
    assert stops("laser", las_settings_record="other_profile", las_mask_test="detects")
    assert not stops("laser", las_settings_record="other_profile", las_mask_test="detects_opening_sensor")


def test_a_zone_can_be_exchanged_without_a_side_setting() -> None:
    """Only a zone that was walked and is as planned clears the figures too."""
    assert "side_setting_wrong" not in concluded(las_mount_side="no_such_setting").after.excluded
    walked = concluded(las_mount_side="no_such_setting", las_zone_walk="as_planned")
    assert "side_setting_wrong" in walked.after.excluded


def test_a_holding_loop_that_misses_motorbikes_stops_work() -> None:
    assert stops("loop", lop_job="holds_open", lop_missed_kind="two_wheelers")
    assert not stops("loop", lop_job="holds_open", lop_missed_kind="bicycles_only")
    assert not stops("loop", lop_job="opens", lop_missed_kind="two_wheelers")


def test_a_missed_bicycle_is_known_as_no_person_either() -> None:
    assert "not_for_people" in concluded("loop", lop_job="holds_open", lop_missed_kind="bicycles_only").after.cautions


def test_a_site_without_remotes_may_still_have_a_receiver() -> None:
    given = concluded(opn_remotes_home="not_fitted")
    assert "receiver_output_wrong" not in given.after.excluded
    assert "opn_radio_out" not in given.values
    assert given.values.get("opn_receiver_answers") != "not_fitted"  # no remote to press is no word on the receiver
    assert "receiver_output_wrong" in concluded(opn_radio_out="not_fitted").after.excluded


@pytest.mark.parametrize(
    ("kind", "role", "settled"),
    [
        ("mains", "technician", True),
        ("mains", "help_desk", False),
        ("mains_battery", "technician", False),
        (None, "technician", False),
    ],
)
def test_dark_lamps_alone_do_not_say_that_a_gate_cannot_move(kind: str | None, role: Role, settled: bool) -> None:
    """A battery that nobody sees can move it."""
    powered: dict[str, Value] = {"sup_power_kind": kind} if kind else {}
    given = concluded(role=role, sup_others_dead="all_dead", **powered)
    assert ("manual_command" in given.values) is settled
    assert given.values["power_lamp"] == "off"


def test_a_lamp_that_draws_too_little_and_a_dead_output_are_not_acquitted() -> None:
    entry = cause("warning_lamp_blocks")
    assert "LED" in entry.test and "no volts" in entry.test
    assert "settings_copied_first" in entry.remedy.cautions


def test_where_one_lens_sends_and_receives_a_fourfold_reserve_is_half_covered() -> None:
    assert 0.5 * 0.5 == 1 - 0.75
    said = cause("photo_eye_reflector_tilted")
    assert "75 % of the receiving lens" in said.proof
    assert "one lens sends and receives, cover half" in said.proof
    assert "75 % of the window" not in said.proof + " ".join(said.remedy.steps)


def test_a_zone_for_gaps_is_as_deep_as_a_lorry_between_its_axles() -> None:
    said = " ".join(steps("trailer_gap_drop"))
    assert max(numbers(r"(\d+(?:\.\d+)?) m or more", said)) >= 5
    assert "lorries" in steps("trailer_gap_drop")[0]
    assert "between its axles" in cause("trailer_gap_drop").proof


def test_a_fire_line_is_active_only_against_its_resting_state() -> None:
    entry = check("opn_one_by_one")
    assert "resting state" in entry.help and "resting state" in entry.options["fire"]


def test_one_persons_weight_clears_no_slot_under_lorries() -> None:
    entry = check("lop_press_test")
    assert "held open" in entry.help
    assert "does not clear a slot" in entry.good


def test_a_device_without_test_input_may_be_tested_by_its_supply() -> None:
    assert "switch its supply" in " ".join(steps("monitored_input_test_unwired"))
    assert {"ladder", "keep_water_out"} <= set(cause("monitored_input_test_unwired").remedy.cautions)


def test_glare_is_over_when_the_test_piece_is_seen_in_it() -> None:
    last = cause("sun_mirrored").proof.split(". ")[-1]
    assert "test piece" in last and "at that hour" in last


def test_a_wrong_zone_behind_a_lost_code_is_out_of_automatic_first() -> None:
    assert OUT in steps("sensor_locked_code_unknown")[0]


def test_every_device_is_missed_by_the_test_after_settings_were_changed() -> None:
    entry = cause("delays_taken_for_a_fault")
    assert "each protective device" in entry.proof and "after closing" in entry.proof
    assert {"ladder", "lane_closed"} <= set(entry.remedy.cautions)


def test_a_transistor_stuck_on_is_not_acquitted_by_reading_off() -> None:
    """It loses its supply when the sensor is off, so only clear and blocked read the same."""
    said = cause("output_relay_failed").test
    assert "off, clear and blocked" not in said
    assert "same clear and blocked" in said
    told = steps("output_relay_failed")
    load, new = (next(i for i, step in enumerate(told) if words in step) for words in ("load", "Replace the sensor"))
    assert load < new


def test_a_new_surface_is_not_acquitted_by_water_and_none_is_poured_in_frost() -> None:
    entry = cause("overhead_ground_too_dark")
    assert "dry too" in entry.test
    assert "ever in frost" in entry.test and "never in frost" in entry.proof


def test_a_slow_push_does_not_pass_a_slow_sensor() -> None:
    """At 1 s of response and 1 m of zone, 0.2 m/s goes 0.2 m and a walker 1.6 m."""
    entry = cause("protective_response_too_long")
    pulled = max(numbers(r"(\d\.\d) m/s", entry.proof))
    assert pulled >= WALK_M_S
    assert pulled * 1.0 > 1.0 > 0.2 * 1.0
    assert "1.6 m/s" in entry.test and "controller" in entry.test


def test_what_counts_as_a_clear_ac_part_is_said_before_a_false_stop() -> None:
    entry = check("sup_ac_or_dc")
    (share,), (volts,) = numbers(r"(\d+) % of the DC", entry.help), numbers(r"\((\d\.\d) V at 24 V", entry.help)
    assert volts == pytest.approx(24 * share / 100)
    assert entry.help.index("about twice the value") < entry.help.index("stop work")
    assert numbers(r"for (\d+) V AC", entry.help)[0] >= 250
