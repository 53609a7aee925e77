"""Entries that could hurt somebody when a master of the trade read them: each is held to what he asked for.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

from collections.abc import Mapping
from functools import cache

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Role, Setup, Value
from tests.shipped import knowledge, reasoner

PROTECTION = {"protective_zone", "test_input", "edge"}


@cache
def face_value() -> Reasoner:
    """What the entries themselves say, before tempering."""
    return Reasoner(at_face_value(knowledge()))


def concluded(answers: Mapping[str, Value], complaint: str = "intermittent", **profile: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return face_value().conclude(Setup(electrician=True, profile=profile), complaint, given)


def test_a_new_drive_relay_has_every_protective_function_proved() -> None:
    """The reversal runs through the part that was changed."""
    cause = knowledge().causes["drive_relay_failed"]
    assert set(cause.remedy.touches) >= PROTECTION
    assert "hits_vehicle" in cause.complaints


def test_nobody_is_told_that_a_limit_ends_a_welded_relay() -> None:
    cause = knowledge().causes["drive_relay_failed"]
    assert "until a limit" not in cause.explain
    assert "past its limit" in cause.explain
    assert "isolate at once" in cause.test.casefold()


@pytest.mark.parametrize("cause", ["edg_coil_cord_short", "edg_cable_broken_moving"])
def test_an_edge_off_its_evaluator_is_never_run_under_power(cause: str) -> None:
    """With the cord or cable off the edge is dead, so its ten travels are made by hand, drive locked off."""
    entry = knowledge().causes[cause]
    assert "Drive locked off, leaf moved by hand" in entry.proof
    assert "before the drive gets its power back" in entry.proof
    assert {"lock_off", "manual_release"} <= set(entry.remedy.cautions)


MEASURED_FIRST = {
    "sup_volts_source": "sup_ac_source",
    "sup_ripple": "sup_ac_source",
    "ctl_supply_unplugged": "sup_ac_source",
    "sup_volts_sensor": "sup_ac_sensor",
    "sup_polarity": "sup_ac_sensor",
    "sup_ac_or_dc": "sup_ac_sensor",
    "sup_volts_start": "sup_ac_sensor",
    "sup_heater_load": "sup_ac_sensor",
    "sup_neighbours_off": "sup_ac_sensor",
    "sup_unload_test": "sup_ac_source",
    "eye_supply_transmitter": "sup_ac_sensor",
    "eye_supply_receiver": "sup_ac_sensor",
}


@pytest.mark.parametrize(("check", "first"), MEASURED_FIRST.items())
def test_ac_is_measured_before_dc(check: str, first: str) -> None:
    """On a DC range 230 V AC reads about 0, so AC comes first: each core to earth, then core to core."""
    kb = knowledge()
    assert kb.checks[check].needs[0] == first
    ac = kb.checks[first]
    assert all(w in ac.ask + ac.help for w in ("to earth", "AC first", "low-impedance", "before and after"))
    assert kb.checks["sup_ac_or_dc"].ask.find("on AC") < kb.checks["sup_ac_or_dc"].ask.find("on DC")


def test_the_method_is_told_wherever_a_low_voltage_cover_is_opened() -> None:
    kb = knowledge()
    says = kb.cautions["low_voltage_source"].says
    assert all(w in says for w in ("AC first", "to earth", "core to core", "25 V AC", "60 V DC", "proved"))
    assert all("low_voltage_source" in kb.access[a].cautions for a in LOW_VOLTAGE_COVERS)


LOW_VOLTAGE_COVERS = ("sensor_cover", "controller_cabinet", "junction_box")
VOLTS_THAT_STOP = [
    ("sup_ac_source", 25.5), ("sup_ac_source", 230.0), ("sup_ac_sensor", 26.0), ("sup_volts_source", 61.0),
    ("sup_volts_sensor", 61.0), ("wir_common_volts", 26.0), ("wir_common_volts", 55.0),
]  # fmt: skip


@pytest.mark.parametrize(("check", "volts"), VOLTS_THAT_STOP)
def test_dangerous_voltage_where_none_belongs_stops_work(check: str, volts: float) -> None:
    """25 V AC and 60 V DC: IEC 60364-4-41, as restated publicly."""
    found = concluded({check: volts})
    assert "stop_electric" in found.stop_work
    assert "sup_mains_present" in found.after.unlocked


@pytest.mark.parametrize(
    ("check", "volts"),
    [("sup_ac_source", 25.0), ("sup_ac_sensor", 3.0), ("sup_volts_source", 27.0), ("wir_common_volts", 12.0)],
)
def test_harmless_voltage_stops_nothing(check: str, volts: float) -> None:
    assert concluded({check: volts}).stop_work == ()


def test_nobody_measures_on_where_mains_was_found() -> None:
    """Made safe or not: the next reading at those terminals is not proposed."""
    answers: dict[str, Value] = {"sup_ac_source": 230.0, "gate_made_safe": "safe"}
    found = concluded(answers, "dead_indicators")
    offered = {g.option.check for g in found.gains}
    assert not offered & {"sup_volts_source", "sup_volts_sensor", "sup_polarity", "sup_ripple", "sup_unload_test"}
    before = dict(concluded({}, "dead_indicators").belief.ranked())["mains_in_low_voltage"]
    assert dict(found.belief.ranked())["mains_in_low_voltage"] > 10 * before


@pytest.mark.parametrize(
    ("check", "value", "order"),
    [
        ("anyone_touched", "shock", "stop_electric"),
        ("anyone_touched", "burning", "stop_burning"),
        ("ctl_cabinet_look", "wet", "stop_water_in_mains"),
        ("ctl_cabinet_look", "scorched", "stop_burning"),
    ],
)
def test_shock_burning_and_water_in_mains_parts_stop_work(check: str, value: str, order: str) -> None:
    assert order in concluded({check: value}).stop_work
    caution = knowledge().cautions[order]
    assert caution.tell and caution.tag and "upstream" in caution.says


@pytest.mark.parametrize("role", ["technician", "help_desk"])
def test_everybody_is_asked_about_a_shock_first(role: Role) -> None:
    """One more option of the first question, so that the opening stays as short as it was."""
    kb = knowledge()
    first = reasoner().conclude(Setup(role=role), "intermittent", []).next
    check = kb.checks[first.check]
    assert first.why == "opening" and {"shock", "burning"} <= set(check.options)
    assert all(w in check.ask_caller for w in ("shock", "tingle", "smoke", "burning"))
    assert len(kb.settings.opening) <= 4


def test_damp_alone_does_not_stop_work() -> None:
    assert concluded({"ctl_cabinet_look": "damp"}).stop_work == ()


def test_mains_is_lost_only_when_all_three_readings_are_zero() -> None:
    """With an open neutral the live is still live, whatever live to neutral shows. EN 50110-1: prove dead."""
    check, cause = knowledge().checks["sup_mains_present"], knowledge().causes["mains_lost"]
    for says in (cause.test, check.options["absent"]):
        assert all(w in says.casefold() for w in ("live to neutral", "live to earth", "neutral to earth", "proved"))
    assert "while it runs" not in check.help  # it is asked while a stop-work order stands


@pytest.mark.parametrize("state", ["low", "neutral_open"])
def test_a_loose_neutral_stops_work_and_is_a_cause_of_its_own(state: str) -> None:
    found = concluded({"sup_others_dead": "some_dead", "sup_mains_present": state}, "dead_indicators")
    ranked = dict(found.belief.ranked())
    assert "stop_electric" in found.stop_work
    assert ranked["mains_neutral_loose"] > 5 * ranked.get("mains_lost", 0.0)
    assert knowledge().causes["mains_neutral_loose"].remedy.who == "electrician"


def test_dimming_lights_let_the_electrician_look_for_a_loose_neutral() -> None:
    found = concluded({"sup_power_kind": "mains", "sup_lights_dim": "dims"})
    assert "sup_mains_present" in {g.option.check for g in found.gains}


RELEASES = ("mec_drag_where", "mec_hand_push_n", "edg_hand_move", "las_hand_travel")
HELD = {"site.gate_type": "sliding"}


@pytest.mark.parametrize("check", RELEASES)
def test_nothing_is_released_before_stops_guides_and_hinges_were_looked_at(check: str) -> None:
    """A leaf without its stop, guide or hinge falls (EN 12604, as restated publicly)."""
    kb = knowledge()
    assert set(kb.checks[check].only_if["mec_end_stops_look"]) == {"sound", "worn"}
    assert "hinges" in kb.checks[check].help and "manual_release" in kb.checks[check].cautions
    assert "end stops" in kb.cautions["manual_release"].says


def test_the_look_opens_the_release_and_a_failed_part_shuts_it() -> None:
    def offered(look: str) -> set[str]:
        answers = {"gate_made_safe": "safe", "mec_end_stops_look": look} if look else {}
        return {g.option.check for g in concluded(answers, "nuisance_reversal", **HELD).gains}

    assert "mec_drag_where" in offered("sound") and "mec_drag_where" in offered("worn")
    assert not offered("") & set(RELEASES)
    assert not offered("failed") & {*RELEASES, "mec_release_look", "mec_limit_look", "mec_ground_gap_mm"}


@pytest.mark.parametrize("kind", ["sliding", "swing"])
@pytest.mark.parametrize(
    ("check", "value"),
    [("mec_travel_look", "bent"), ("mec_travel_look", "off_track"), ("mec_end_stops_look", "failed")],
)
def test_a_leaf_that_may_fall_stops_work(check: str, value: str, kind: str) -> None:
    assert "stop_may_fall" in concluded({check: value}, **{"site.gate_type": kind}).stop_work


def test_a_bent_barrier_arm_is_no_leaf_that_falls() -> None:
    orders = concluded({"mec_travel_look": "bent"}, **{"site.gate_type": "barrier_arm"}).stop_work
    assert orders == ("stop_stored_motion",)  # its spring lifts what is left of the arm


def test_a_caller_looks_for_a_leaf_out_of_its_rail_from_further_off_than_it_is_high() -> None:
    check = knowledge().checks["mec_travel_look"]
    assert "off_track" in check.options and "out of its rail" in check.ask_caller
    assert "further away than it is high" in check.stand and "touch nothing" in check.stand


@pytest.mark.parametrize("check", ["isolation_test", "mon_inject_fault"])
def test_with_a_protective_input_linked_the_gate_is_held_to_run_in_full_view(check: str) -> None:
    kb = knowledge()
    for says in (kb.checks[check].help, kb.cautions["no_bypass"].says):
        assert "hold-to-run only" in says and "whole travel" in says
    assert "no_bypass" in kb.checks[check].cautions


def test_the_gate_stands_while_a_resistor_takes_the_place_of_its_edge() -> None:
    assert "the gate stands as long as it is on" in knowledge().checks["edg_resistor_test"].help


def test_nobody_is_told_that_watching_or_supervising_a_bridged_gate_will_do() -> None:
    kb = knowledge()
    told = kb.checks["isolation_test"].help + kb.cautions["no_bypass"].says
    assert "hold-to-run or watched" not in told and "supervised or held" not in told


RUNS_OR_SERVES = (
    "ctl_terminal_direct", "opn_button_look", "opn_other_protective", "lop_reset", "rad_direction_test",
    "rad_slow_test", "rad_spare_swap", "out_hold_time",
)  # fmt: skip


@pytest.mark.parametrize("check", RUNS_OR_SERVES)
def test_a_check_that_commands_the_gate_or_needs_traffic_waits_for_the_end_of_stop_work(check: str) -> None:
    kb = knowledge()
    devices = kb.checks[check].devices or tuple(kb.devices)
    setup = Setup(electrician=True, devices=devices)
    facts = {fact: values[0] for fact, values in kb.checks[check].only_if.items() if fact in kb.checks}
    calm, stopped = ({**facts, "anyone_touched": said, "gate_made_safe": "safe"} for said in ("nobody", "touched"))

    def offered(answers: Mapping[str, str]) -> set[str]:
        given = [Answer(c, v) for c, v in answers.items()]
        return {g.option.check for g in reasoner().conclude(setup, "intermittent", given).gains}

    assert check in offered(calm)
    assert check not in offered(stopped)


def test_no_remedy_against_headlights_moves_a_protective_eye() -> None:
    remedy = knowledge().causes["headlights_into_sensor"].remedy
    told = " ".join(remedy.steps).casefold()
    assert "raise it" not in told and "0.9 m" not in told
    assert "hood" in told and "exchange sender and receiver" in told and "leave height and width" in told
    assert {"protective_zone", "test_input"} <= set(remedy.touches)


def test_no_remedy_against_reflections_narrows_a_protective_zone() -> None:
    told = [" ".join(c.remedy.steps) for c in knowledge().causes.values()]
    assert not [says for says in told if "narrow the zone" in says.casefold()]


BATTERY_CAUSES = ("battery_worn", "battery_charger_failed", "solar_charging_short")
BATTERY_CHECKS = (
    "sup_battery_nominal",
    "sup_battery_rest",
    "sup_battery_load",
    "sup_charger_volts",
    "sup_panel_charge",
)


def test_whoever_opens_a_battery_box_is_warned_of_gas_acid_and_short_circuit() -> None:
    kb = knowledge()
    says = kb.cautions["battery"].says.casefold()
    for word in ("gas", "acid", "goggles", "fuse out first", "minus, comes off first", "insulated tools", "spark"):
        assert word in says
    assert all("battery" in kb.causes[c].remedy.cautions for c in BATTERY_CAUSES)
    assert all("battery" in kb.checks[c].cautions for c in BATTERY_CHECKS)


def test_an_overcharged_battery_warns_of_its_gas() -> None:
    answers: dict[str, Value] = {
        "sup_power_kind": "mains_battery",
        "sup_battery_nominal": 12.0,
        "sup_charger_volts": 15.2,
    }
    assert "battery" in concluded(answers).after.cautions
