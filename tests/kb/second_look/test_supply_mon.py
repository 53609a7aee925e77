"""Entries on supply and the monitored test that were dangerous or wrong when a technician read them again.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

import re
from collections.abc import Mapping
from functools import cache
from math import sqrt

import pytest

from diagnose.calc.cable import FLEXIBLE_MAX_OHM_PER_KM
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

PROTECTION = {"protective_zone", "test_input", "edge"}
ZONE_AND_TEST = {"protective_zone", "test_input"}


@cache
def face_value() -> Reasoner:
    """What the entries themselves say, before tempering."""
    return Reasoner(at_face_value(knowledge()))


def concluded(answers: Mapping[str, Value], complaint: str = "intermittent", **profile: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return face_value().conclude(Setup(electrician=True, profile=profile), complaint, given)


def told(cause: str) -> str:
    entry = knowledge().causes[cause]
    return " ".join((entry.explain, entry.test, *entry.remedy.steps, entry.proof))


@pytest.mark.parametrize(
    "cause", ["surge_damaged_supply", "mains_neutral_loose", "over_voltage", "mains_in_low_voltage"]
)
def test_after_too_much_voltage_every_protective_function_is_owed(cause: str) -> None:
    """A surge or too high a voltage can weld a contact or blind a device that still has its lamp lit."""
    remedy = knowledge().causes[cause].remedy
    assert set(remedy.touches) >= PROTECTION
    assert "prove_after" in remedy.cautions


@pytest.mark.parametrize("cause", ["wrong_polarity", "ac_on_dc_device", "sensor_on_switched_output"])
def test_a_sensor_that_stood_on_a_wrong_supply_is_proved_again(cause: str) -> None:
    assert set(knowledge().causes[cause].remedy.touches) >= ZONE_AND_TEST


def test_a_board_change_for_its_test_output_is_an_electricians_and_owes_every_protection() -> None:
    remedy = knowledge().causes["controller_test_output_dead"].remedy
    assert "board" in " ".join(remedy.steps)
    assert remedy.who == "electrician" and remedy.access == "mains_compartment"
    assert {"mains_licensed", "lock_off"} <= set(remedy.cautions)
    assert set(remedy.touches) >= PROTECTION | {"mechanics", "activation_zone", "controller"}


def test_the_place_of_a_protective_device_that_was_taken_away_is_not_just_struck_off() -> None:
    """A removed protective device is a lost protection: stop work, whatever the test list says."""
    check = knowledge().checks["mon_one_by_one"]
    assert "removed" in check.options
    assert "stop_protection_lost" in concluded({"mon_one_by_one": "removed"}, "test_fault").stop_work
    assert not concluded({"mon_one_by_one": "other_silent"}, "test_fault").stop_work
    assert "protective_zone" in knowledge().causes["shared_test_one_silent"].remedy.touches


@pytest.mark.parametrize("look", ["scorched"])
def test_a_scorched_supply_stops_work_as_a_scorched_cabinet_does(look: str) -> None:
    assert "stop_burning" in concluded({"sup_surge_look": look}).stop_work
    assert not concluded({"sup_surge_look": "marked"}).stop_work


def test_both_marks_count_as_marks_for_the_causes() -> None:
    flag = dict(concluded({"sup_surge_look": "marked"}, "dead_indicators").belief.ranked())
    burnt = dict(concluded({"sup_surge_look": "scorched"}, "dead_indicators").belief.ranked())
    assert burnt["surge_damaged_supply"] == pytest.approx(flag["surge_damaged_supply"])


def test_a_look_at_the_breakers_switches_nothing() -> None:
    """It is offered while a stop-work order stands, and power that comes back can move the gate."""
    help_text = knowledge().checks["sup_breaker_look"].help
    assert "nothing is switched" in help_text and "one reset" not in help_text


RUN_WITH_HANDS_OUT = ("mon_polarity", "mon_test_volts", "sup_feed_terminal", "sup_battery_load")


@pytest.mark.parametrize("check", RUN_WITH_HANDS_OUT)
def test_a_reading_during_a_run_warns_of_the_gate(check: str) -> None:
    entry = knowledge().checks[check]
    assert entry.runs_gate and entry.hazard
    assert {"moving_gate", "remotes_kept"} <= set(entry.cautions)
    assert "clip" in entry.help.casefold() and "ands" in entry.help and "out" in entry.help


def test_leads_are_clipped_to_a_battery_with_the_drive_locked_off() -> None:
    entry = knowledge().checks["sup_battery_load"]
    assert "lock_off" in entry.cautions
    assert entry.help.index("locked off") < entry.help.index("drive live again")


@pytest.mark.parametrize("check", ["mon_wire_ohms"])
def test_a_cable_is_shaken_at_the_leaf_with_the_drive_locked_off(check: str) -> None:
    entry = knowledge().checks[check]
    assert entry.hazard and {"lock_off", "stored_motion"} <= set(entry.cautions)
    assert {"lock_off", "stored_motion"} <= set(knowledge().causes["test_wire_broken"].remedy.cautions)


def test_a_new_fuse_may_move_the_gate() -> None:
    entry = knowledge().checks["sup_fuse"]
    assert entry.hazard and {"lock_off", "moving_gate", "remotes_kept"} <= set(entry.cautions)


def test_the_terminal_that_feeds_the_sensor_is_measured_on_ac_first() -> None:
    assert knowledge().checks["sup_feed_terminal"].needs[0] == "sup_ac_source"


def test_a_charger_is_parted_on_its_mains_by_a_switch_and_never_at_a_pole() -> None:
    entry = knowledge().checks["sup_charger_volts"]
    assert "isolator" in entry.help and "never part it at a pole" in entry.help


def test_a_caller_who_brings_the_power_back_has_the_path_cleared_first() -> None:
    caller = knowledge().causes["mains_lost"].caller
    assert caller is not None
    assert "clear of its path" in caller.steps[0] and "may move" in caller.steps[0]


def test_the_peak_of_a_transformer_at_rest_is_what_the_entry_says() -> None:
    """24 V AC off load is up to 28 V; a capacitor charges to the peak, root two times that (textbook physics)."""
    volts = int(re.search(r"about (\d+) V DC", told("ac_on_dc_device")).group(1))  # type: ignore[union-attr]
    assert abs(volts - 28 * sqrt(2)) < 1


def test_a_sound_cable_at_the_limit_of_its_standard_is_not_called_a_bad_joint() -> None:
    """IEC 60228 allows a class 5 core of 0.5 mm2 39 ohm per km, so there and back 78 ohm per km of run."""
    most = 2 * FLEXIBLE_MAX_OHM_PER_KM[0.5] / 1000
    says = knowledge().causes["long_thin_cable_drop"].test
    per_metre = float(re.search(r"allows (0\.\d+) ohm", says).group(1))  # type: ignore[union-attr]
    assert per_metre == pytest.approx(most)
    assert most / (0.0345 / 0.5) < 1.25 and "a fourth more" in says


def test_a_faster_setting_or_a_longer_window_is_proved_where_it_acts() -> None:
    kb = knowledge()
    assert "protective_zone" in kb.causes["test_pulse_too_short"].remedy.touches
    assert {"controller", "protective_zone"} <= set(kb.causes["hold_longer_than_test_window"].remedy.touches)


def test_no_source_is_cited_for_the_milliseconds_of_a_test() -> None:
    """16 CFR 1211.8(b) asks that protection is monitored; it gives no pulse, window or hold."""
    kb = knowledge()
    timed = ("mon_timing",), ("mon_pulse_is_short", "mon_return_is_late", "mon_timing_is_good")
    assert all(kb.calculations[c].source != "cfr_1211" for c in timed[0])
    assert all(kb.rules[r].source != "cfr_1211" for r in timed[1])
    assert kb.checks["mon_window_ms"].source != "cfr_1211"


def test_a_test_pair_is_tied_only_where_no_protection_needs_its_test() -> None:
    steps = " ".join(knowledge().causes["test_pair_floating"].remedy.steps)
    assert "only where no protective function needs this test" in steps


def test_a_vehicle_for_a_trial_waits_outside_the_travel() -> None:
    kb = knowledge()
    assert all("outside the travel" in kb.checks[c].help for c in ("input_vehicle", "lamp_vehicle"))
    assert "no_body_test" in kb.checks["input_vehicle"].cautions


def test_a_gate_with_doubtful_protection_is_only_held_to_run() -> None:
    assert "hold-to-run only" in knowledge().checks["manual_command"].help


@pytest.mark.parametrize(
    ("check", "value"),
    [
        ("mon_device_count", "fewer"),
        ("mon_device_count", "two_alike"),
        ("mon_two_channels", "one_only"),
        ("mon_setting_look", "reference_off"),
    ],
)
def test_a_device_or_channel_that_is_not_supervised_stops_work(check: str, value: str) -> None:
    """A fitted device that is not listed protects nothing; one channel of two leaves the next fault unnoticed."""
    assert "stop_protection_lost" in concluded({check: value}, "test_fault").stop_work


@pytest.mark.parametrize(("check", "value"), [("mon_device_count", "fits"), ("mon_two_channels", "together")])
def test_a_sound_count_and_sound_channels_stop_nothing(check: str, value: str) -> None:
    assert concluded({check: value}, "test_fault").stop_work == ()


NO_LOSS_OF_PROTECTION = {
    "device_list_not_learned": "Never learn while one is dead",
    "channels_out_of_step": "Never to get rid of the fault",
    "channels_seen_as_shorted": "Never switch the cross-short detection off",
    "feedback_loop_open": "Never link the feedback terminals",
    "object_during_test": "never made smaller",
    "reference_target_unfit": "never wider than the movement that would miss the test piece",
    "masking_supervision_too_sensitive": "never off",
    "residual_current_leakage": "Never a larger rating",
    "sensor_late_after_power_return": "Never make the sensor's contact look clear",
    "opening_pulse_on_power_return": "protective and stop inputs count from the first moment",
}


@pytest.mark.parametrize(("cause", "never"), NO_LOSS_OF_PROTECTION.items())
def test_no_nuisance_is_cured_by_weakening_what_protects(cause: str, never: str) -> None:
    entry = knowledge().causes[cause]
    assert never in " ".join(entry.remedy.steps)
    assert {"protective_zone", "test_input", "covers", "activation_zone"} & set(entry.remedy.touches)


def test_the_bond_of_a_gate_is_an_electricians_and_the_gate_stays_off_meanwhile() -> None:
    remedy = knowledge().causes["earth_bond_missing"].remedy
    assert remedy.who == "electrician" and "lock_off" in remedy.cautions
    assert "Nobody touches the metal" in remedy.steps[0] and "stays off" in remedy.steps[0]


def test_standing_leakage_is_judged_by_three_tenths_of_the_rating() -> None:
    """IEC 60364-5-53, from memory: at most 30 % of the rated residual current."""
    kb = knowledge()
    assert f"{0.3 * 30:.0f} mA on 30 mA" in kb.checks["sup_leakage"].good
    assert f"{0.3 * 30:.0f} mA on 30 mA" in kb.causes["residual_current_leakage"].test


def test_the_drop_of_a_long_feeder_is_worked_out_and_not_guessed() -> None:
    """Ohm's law with copper of 0.01724 ohm mm2 per m, there and back."""
    says = knowledge().causes["mains_feeder_weak"].test
    amps, metres, area, volts = (float(n) for n in FEEDER.search(says).groups())  # type: ignore[union-attr]
    assert volts == pytest.approx(amps * 2 * 0.01724 * metres / area, abs=0.5)


FEEDER = re.compile(r"(\d+) A over (\d+) m of ([\d.]+) mm2 lose (\d+) V")


def test_a_weak_feeder_is_told_from_a_loose_neutral_by_where_the_volts_are_lost() -> None:
    """Half in each conductor of a long feeder, all of them in the neutral where that is loose (textbook physics)."""
    assert "about half of that each" in knowledge().causes["mains_feeder_weak"].test
    assert "stop_electric" in concluded({"sup_mains_present": "low"}).stop_work


@pytest.mark.parametrize(
    ("cause", "check", "value"),
    [
        ("fed_from_switched_circuit", "sup_breaker_look", "timed"),
        ("residual_current_leakage", "sup_leakage", "high"),
        ("sensor_late_after_power_return", "sup_return_trial", "fault_stays"),
        ("opening_pulse_on_power_return", "sup_return_trial", "opens"),
        ("test_level_opposite", "mon_watch_test", "wrong_way"),
        ("device_list_not_learned", "mon_device_count", "more"),
        ("bus_address_double", "mon_device_count", "two_alike"),
        ("bus_line_unsuitable", "mon_device_count", "unsteady"),
        ("channels_out_of_step", "mon_two_channels", "one_late"),
        ("channels_seen_as_shorted", "mon_two_channels", "crossed"),
        ("feedback_loop_open", "mon_two_channels", "feedback_open"),
        ("object_during_test", "mon_fault_pattern", "occupied"),
        ("reference_supervision_off", "mon_setting_look", "reference_off"),
        ("reference_target_unfit", "mon_setting_look", "reference_unfit"),
    ],
)
def test_what_decides_brings_its_cause_up(cause: str, check: str, value: str) -> None:
    before = dict(concluded({}, "test_fault").belief.ranked())[cause]
    after = dict(concluded({check: value}, "test_fault").belief.ranked())[cause]
    assert after > 8 * before


def test_a_level_at_rest_is_read_at_rest() -> None:
    """It is offered while a stop-work order stands, so nobody waits for the gate to move."""
    entry = knowledge().checks["mon_idle_level"]
    assert not entry.runs_gate and "gate at rest" in entry.help and "drive running" not in entry.help


def test_a_protective_sensor_that_was_dark_while_the_gate_ran_is_asked_about() -> None:
    cause = knowledge().causes["sensor_plug_in_supply_off"]
    assert "why the controller did not refuse" in " ".join(cause.remedy.steps)
    assert cause.caller is not None and "clear of the gate's path" in cause.caller.steps[0]
    assert "may not see" in cause.caller.proof


def test_a_burnt_mains_terminal_is_not_switched_on_again() -> None:
    remedy = knowledge().causes["mains_terminal_burnt"].remedy
    assert "stop work" in remedy.steps[0] and "nobody switches it on again" in remedy.steps[0]
    assert remedy.who == "electrician" and "insulation_test" in remedy.cautions
