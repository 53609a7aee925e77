"""Supply, the monitored test and the first looks, as a master signs them: what was dangerous or wrong before.

Source of what is asked: common practice where no standard is named.
"""

import re
from collections.abc import Mapping

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Role, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
BATTERY_READINGS = {"sup_battery_nominal", "sup_battery_rest", "sup_battery_load", "sup_charger_volts"}
DURING_A_TEST = ("mon_polarity", "mon_test_volts", "mon_test_out", "mon_one_by_one", "mon_transmitter_feed")


def concluded(
    answers: Mapping[str, Value], complaint: str = "intermittent", role: Role = "technician", **profile: Value
) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return READ.conclude(Setup(role=role, electrician=True, profile=profile), complaint, given)


def steps(cause: str) -> tuple[str, ...]:
    return tuple(knowledge().causes[cause].remedy.steps)


def place(cause: str, words: str) -> int:
    found = [n for n, step in enumerate(steps(cause)) if re.search(words, step)]
    assert found, words
    return found[0]


def test_a_swollen_battery_stops_work_and_nobody_measures_it() -> None:
    found = concluded({"sup_power_kind": "mains_battery", "sup_battery_look": "damaged"})
    assert "stop_battery" in found.stop_work
    assert not BATTERY_READINGS & {g.option.check for g in found.gains}
    assert not concluded({"sup_power_kind": "mains_battery", "sup_battery_look": "sound"}).stop_work


def test_a_battery_is_looked_at_before_anybody_reaches_in() -> None:
    assert "sup_battery_look" in knowledge().checks["sup_battery_nominal"].needs


def test_every_reading_between_neutral_and_earth_has_an_answer() -> None:
    """Under 5 V present, over 10 V open or loose: what lies between is not called present."""
    options = knowledge().checks["sup_mains_present"].options
    assert "5 to 10 V" in options["low"] and "over 10 V" in options["neutral_open"]
    assert "stop_electric" in concluded({"sup_mains_present": "low"}).stop_work


def test_no_load_is_switched_on_behind_an_open_neutral() -> None:
    assert "switch no load on" in knowledge().checks["sup_mains_present"].help


@pytest.mark.parametrize("check", ["sup_volts_source", "sup_volts_sensor"])
def test_nobody_measures_on_at_more_than_60_v_dc(check: str) -> None:
    found = concluded({check: 90.0}, "dead_indicators")
    assert not {"sup_polarity", "sup_ac_or_dc", "sup_heater_load"} & {g.option.check for g in found.gains}
    assert "stop_electric" in found.stop_work


MAINS_WORK = {
    "sensor_late_after_power_return": "timing relay",
    "long_thin_cable_drop": "supply nearer",
    "ac_on_dc_device": "fed from the mains",
    "heater_collapses_supply": "all heaters",
    "solar_charging_short": "mains charger",
}


@pytest.mark.parametrize(("cause", "words"), MAINS_WORK.items())
def test_what_is_in_the_mains_is_an_electricians_step(cause: str, words: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert "electrician" in steps(cause)[place(cause, words)]
    assert "mains_licensed" in remedy.cautions


def test_a_panel_is_covered_before_it_is_changed() -> None:
    assert place("solar_charging_short", "cover it") < place("solar_charging_short", "larger panel")


def test_a_battery_is_isolated_before_one_is_renewed() -> None:
    assert place("battery_too_cold", "battery fuse out") <= place("battery_too_cold", "renew what is worn")


def test_a_start_up_delay_never_holds_a_fire_line() -> None:
    told = steps("opening_pulse_on_power_return")[0]
    assert "never delayed" in told and "fire" in told and "this sensor's" in told


def test_two_cores_joined_at_both_ends_count_together() -> None:
    """Two equal resistances side by side are half of one (Ohm's law); the remedy for a thin cable says so too."""
    assert "both ends count together" in knowledge().checks["sup_cable_area"].help


def test_a_flat_battery_on_a_good_charger_is_not_answered_as_no_charge() -> None:
    for check in ("sup_charger_volts", "sup_panel_charge"):
        assert "read again later, or answer 'cannot check'" in knowledge().checks[check].help.replace("Read", "read")


def test_a_caller_does_not_rule_out_a_battery_that_he_cannot_see() -> None:
    seen = concluded({"sup_power_kind": "mains"})
    told = concluded({"sup_power_kind": "mains"}, role="help_desk")
    assert dict(seen.belief.ranked()).get("battery_worn", 0.0) == 0.0
    assert dict(told.belief.ranked())["battery_worn"] > 0.0


@pytest.mark.parametrize("check", DURING_A_TEST)
def test_a_controllers_test_is_started_in_a_way_that_runs_one(check: str) -> None:
    """Many controllers run no test on hold-to-run: a test not seen there says nothing about wire or output."""
    entry = knowledge().checks[check]
    assert "mon_test_start" in entry.cautions and "remotes_kept" in entry.cautions
    assert "hold-to-run" not in entry.help and "'cannot check'" in entry.help
    says = knowledge().cautions["mon_test_start"].says
    assert says.index("service test") < says.index("locked off") < says.index("in automatic")


def test_no_gate_runs_in_automatic_with_its_protective_output_linked() -> None:
    entry = knowledge().checks["mon_inject_fault"]
    assert "Never link the output pair" in entry.help and "100 mm" not in entry.help
    assert entry.help.index("lock off the drive") < entry.help.index("take link")
    assert {"no_bypass", "lock_off"} <= set(entry.cautions)


def test_a_single_channel_is_nothing_abnormal() -> None:
    before = dict(concluded({}, "test_fault").belief.ranked())["channels_out_of_step"]
    after = dict(concluded({"mon_two_channels": "single"}, "test_fault").belief.ranked())
    assert after.get("channels_out_of_step", 0.0) < before


def test_a_sensor_that_does_not_answer_its_own_test_stops_work() -> None:
    fitted: dict[str, Value] = {"device.test_input": "fitted"}
    given = [Answer("mon_hand_test", "no_answer")]
    conclusion = READ.conclude(Setup(electrician=True, profile=fitted), "test_fault", given)
    assert "stop_protection_lost" in conclusion.stop_work


def test_a_thing_in_the_field_is_taken_away_with_the_gate_off() -> None:
    """With the field free the gate may close at once, on whoever carries the thing away."""
    caller = knowledge().causes["object_during_test"].caller
    assert caller is not None and caller.hands_near


@pytest.mark.parametrize("cause", ["monitored_input_test_unwired", "startup_exceeds_test_supply"])
def test_another_sensor_owes_its_bracket_and_its_zone(cause: str) -> None:
    assert {"protective_zone", "bracket"} <= set(knowledge().causes[cause].remedy.touches)


OUT_FIRST = (
    "bus_line_unsuitable", "reference_target_unfit", "masking_supervision_too_sensitive", "test_pair_floating",
    "test_voltage_unsuitable", "test_pulse_too_short", "hold_longer_than_test_window", "monitoring_type_wrong",
    "startup_exceeds_test_supply", "object_during_test", "shared_test_one_silent",
)  # fmt: skip


@pytest.mark.parametrize("cause", OUT_FIRST)
def test_the_gate_is_out_of_automatic_before_a_protection_is_worked_on(cause: str) -> None:
    assert steps(cause)[0].startswith("Gate out of automatic")


def test_crossed_bus_cores_and_a_charger_for_another_battery_are_looked_for() -> None:
    assert "crossed" in knowledge().causes["bus_line_unsuitable"].test
    assert "label" in knowledge().causes["battery_charger_failed"].test


def test_one_test_that_all_answer_leaves_a_device_that_is_silent_at_times() -> None:
    assert "shared_test_one_silent" not in concluded({"mon_one_by_one": "all_answer"}, "test_fault").after.excluded


KEPT_CLEAR = ("mains_neutral_loose", "dc_supply_overloaded", "test_pulse_too_short", "test_level_opposite")


@pytest.mark.parametrize("cause", KEPT_CLEAR)
def test_a_proof_for_which_the_gate_runs_keeps_people_out_of_its_path(cause: str) -> None:
    """The gate that was just repaired is the one that may do the wrong thing."""
    assert "Nobody in the path" in knowledge().causes[cause].proof
