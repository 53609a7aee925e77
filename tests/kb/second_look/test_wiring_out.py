"""Wiring and outputs, read a second time: what could hurt somebody or was wrong stays mended.

Each test fails on the entry as it was. Where a number is asked for, it is worked out here from its source.
"""

import re
from collections.abc import Mapping

import pytest

from diagnose.calc.cable import COPPER_OHM_MM2_PER_M, COPPER_PER_KELVIN, FLEXIBLE_MAX_OHM_PER_KM
from diagnose.core.chain import Links, ways_of
from diagnose.core.reason import Conclusion
from diagnose.model.visit import Value
from tests.kb.test_dangerous import concluded
from tests.shipped import knowledge

PROTECTION = {"protective_zone", "test_input"}
HOT_CABLE_C = 40

CARRIES_PROTECTION = (
    "core_broken_in_moving_cable", "junction_box_wet", "splice_with_water", "cable_damaged", "transmitter_feed_lost",
    "supply_and_signal_cores_swapped", "unscreened_beside_drive_cable", "earth_loop_on_shield", "connector_not_mated",
    "connector_pins_corroded", "common_reference_missing", "duct_entry_unsealed", "output_contact_welded",
    "output_contact_filmed", "output_contact_overloaded", "output_logic_opposite", "output_wrong_terminal",
    "solid_state_leakage", "solid_state_polarity_wrong",
)  # fmt: skip


@pytest.mark.parametrize("cause", CARRIES_PROTECTION)
def test_whoever_works_on_a_line_that_may_protect_owes_its_proof(cause: str) -> None:
    """Cable, joint and output carry the protective signal and its test as well as the opening one."""
    assert set(knowledge().causes[cause].remedy.touches) >= PROTECTION


def step_of(cause: str, words: str) -> int:
    """Which step says it first; past the last where none does."""
    steps = knowledge().causes[cause].remedy.steps
    return next((i for i, step in enumerate(steps) if re.search(words, step, re.IGNORECASE)), len(steps))


@pytest.mark.parametrize(
    ("cause", "work"),
    [
        ("cable_damaged", "replace the length"),
        ("splice_with_water", "cut the wet copper|pull a new cable"),
        ("core_broken_in_moving_cable", "change the whole moving length"),
        ("junction_box_wet", "dry it"),
    ],
)
def test_a_damaged_or_wet_cable_is_dead_and_the_gate_out_of_automatic_before_it_is_touched(
    cause: str, work: str
) -> None:
    """A drive or mains cable in the same duct may be damaged with it. EN 50110-1: off, locked, proved dead."""
    start = step_of(cause, work)
    assert step_of(cause, "out of automatic") < start
    assert step_of(cause, "isolate and lock off") < start
    assert "lock_off" in knowledge().causes[cause].remedy.cautions


OUT_OF_AUTOMATIC = (
    "output_contact_welded", "output_logic_opposite", "logic_inverted_after_replacement", "output_relay_failed",
    "plain_contact_on_resistive_input", "output_wrong_terminal",
)  # fmt: skip


@pytest.mark.parametrize("cause", OUT_OF_AUTOMATIC)
def test_a_protective_output_that_does_not_work_takes_the_gate_out_of_automatic_first(cause: str) -> None:
    assert step_of(cause, "out of automatic") == 0


def test_no_remedy_takes_the_supervision_of_a_line_away() -> None:
    """A fault of a supervised input is not cured by telling the input to supervise nothing."""
    steps = knowledge().causes["plain_contact_on_resistive_input"].remedy.steps
    settings = [s for s in steps if re.search(r"\bset the input\b", s, re.IGNORECASE)]
    assert settings and all(s.startswith("Never") for s in settings)


@pytest.mark.parametrize("cause", ["solid_state_leakage", "solid_state_polarity_wrong"])
def test_no_plain_relay_comes_into_a_protective_line(cause: str) -> None:
    """A relay that welds there is noticed by nobody; only one that the papers name and the test covers."""
    steps = [s for s in knowledge().causes[cause].remedy.steps if "protective output" in s.casefold()]
    assert any("papers" in s and "tested with it" in s for s in steps)


def effects_of(cause: str) -> set[str]:
    """Every effect that a cause may have, in one way or another."""
    kb = knowledge()
    links = Links(kb, {})
    starts = {e for _, track in ways_of(links, kb.causes[cause]) for e in track.starts}
    return starts.union(*(links.reach[e] for e in starts))


@pytest.mark.parametrize(
    ("cause", "effect"),
    [("solid_state_leakage", "protective_line_closed"), ("output_relay_failed", "protective_contact_closed")],
)
def test_an_output_that_stays_on_may_be_the_protective_one(cause: str, effect: str) -> None:
    """On when clear is the usual protective logic, so an output that never goes off hides a detection."""
    assert effect in effects_of(cause)


def stops(answers: Mapping[str, Value]) -> Conclusion:
    return concluded(answers)


def test_a_leak_at_a_protective_input_stops_work_and_at_an_opening_one_does_not() -> None:
    leak: dict[str, Value] = {"out_output_look": "solid_state_fits", "out_leak_volts": 8.0}
    assert "stop_protection_lost" in stops({**leak, "out_which_output": "protective"}).stop_work
    assert stops({**leak, "out_which_output": "activation"}).stop_work == ()


def test_water_beside_mains_in_a_box_of_the_run_stops_work() -> None:
    assert "stop_water_in_mains" in stops({"wir_junction_look": "water_mains"}).stop_work
    assert stops({"wir_junction_look": "water"}).stop_work == ()
    assert "water_mains" in knowledge().findings["wir_junction_look"].states["water"]


def test_a_link_on_an_input_that_the_papers_show_unused_stops_nobody() -> None:
    assert "unused_linked" in knowledge().findings["out_bridge_look"].states["none_found"]
    assert "stop_protection_lost" in stops({"out_bridge_look": "bridge_found"}).stop_work
    assert stops({"out_bridge_look": "unused_linked"}).stop_work == ()


def test_a_screen_is_not_lifted_before_its_current_is_known() -> None:
    """It may stand in for a missing bond or neutral; its lifted end is then live."""
    check = knowledge().checks["wir_shield_lift"]
    assert check.hazard and {"storm", "low_voltage_source"} <= set(check.cautions)
    assert check.help.find("clamp") < check.help.find("Lift it")
    assert "clamp_meter" in check.tools


def test_nobody_handles_a_wet_splice_before_it_is_dead() -> None:
    check = knowledge().checks["wir_splice_look"]
    assert check.hazard and {"low_voltage_source", "mains_licensed"} <= set(check.cautions)
    assert "squeez" not in check.help + check.bad + " ".join(check.options.values())


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"\d+(?:\.\d+)?", text)]


def test_a_sound_cable_on_a_hot_day_is_not_called_high() -> None:
    """There and back: pure copper below, the limit of IEC 60228 class 5 at 40 degrees above."""
    check = knowledge().checks["wir_core_ohms"]
    lowest, highest = numbers(check.help.partition("sound pair reads")[2])[:2]
    warmer = 1 + COPPER_PER_KELVIN * (HOT_CABLE_C - 20)
    limits = [2 * ohm * mm2 / 1000 * warmer for mm2, ohm in FLEXIBLE_MAX_OHM_PER_KM.items() if 0.5 <= mm2 <= 1.5]
    assert lowest <= 2 * COPPER_OHM_MM2_PER_M
    assert highest == pytest.approx(max(limits), abs=0.001)
    assert "20 % high" not in check.options["high"]


def test_the_shortest_detection_takes_the_vehicle_with_it() -> None:
    """It lasts from the front at the zone's near edge to the tail at its far edge."""
    check = knowledge().checks["out_pulse_ms"]
    example = check.help.rpartition("(")[2].partition(")")[0]
    zone, vehicle, kmh, said = numbers(example)
    assert said == pytest.approx((zone + vehicle) * 3600 / kmh, rel=0.01)


def test_extra_low_voltage_wiring_is_tested_at_250_v() -> None:
    """IEC 60364-6, as restated publicly; the rule for loops is no source for cables."""
    check = knowledge().checks["wir_insulation"]
    assert numbers(check.help.partition("No storm near.")[2])[0] == 250
    assert check.source == knowledge().calculations["wir_insulation_verdict"].source == "iec_60364_6"


def test_a_splice_that_corroded_through_is_not_struck_out_by_good_insulation() -> None:
    """It is open, and may insulate well."""
    answers: dict[str, Value] = {"wir_insulation": 200.0, "when_it_happens": "always"}
    assert dict(stops(answers).belief.ranked())["splice_with_water"] > 0
    whole = stops({**answers, "wir_core_ohms": "as_expected"})
    assert dict(whole.belief.ranked()).get("splice_with_water", 0.0) == 0


def test_a_load_shows_a_pitted_contact_and_the_ohm_range_a_film() -> None:
    """24 V punctures a film; the ohm range does not."""
    check = knowledge().checks["out_contact_drop"]
    assert "film" not in check.bad
    assert "24 V may break through" in check.help


def test_a_gate_that_runs_the_wrong_way_stops_work() -> None:
    """What should send it back from somebody drives it on into him."""
    found = concluded({"mec_motor_sound": "wrong_way"}, "will_not_open")
    assert "stop_protection_lost" in found.stop_work
    assert found.belief.ranked()[0][0] == "motor_leads_exchanged"
    remedy = knowledge().causes["motor_leads_exchanged"].remedy
    assert remedy.who == "electrician" and {*PROTECTION, "edge"} <= set(remedy.touches)


@pytest.mark.parametrize("check", ["wir_bond_look", "wir_line_pickup"])
def test_volts_that_stand_on_gate_metal_or_an_input_line_stop_work(check: str) -> None:
    """AC first, on the low-impedance range. 25 V AC: IEC 60364-4-41, as restated publicly."""
    found = stops({check: "live"})
    assert "stop_electric" in found.stop_work and "sup_mains_present" in found.after.unlocked
    entry = knowledge().checks[check]
    assert "AC" in entry.ask + entry.help.partition("-")[0] and "low-impedance range" in entry.help
    assert "low_voltage_source" in entry.cautions and "over 25 V" in entry.help


def test_an_open_input_is_linked_only_after_its_device_was_asked_for() -> None:
    """Somebody may have taken away what protected; then its input is not linked."""
    cause = "unused_input_open"
    assert (
        step_of(cause, "which device belonged there")
        < step_of(cause, "fitted again")
        < step_of(cause, "fit the link")
    )
    assert {"no_bypass", "prove_after"} <= set(knowledge().causes[cause].remedy.cautions)
    assert {*PROTECTION, "bridges"} <= set(knowledge().causes[cause].remedy.touches)


def test_the_switch_that_guards_crank_and_hatch_is_never_linked_out() -> None:
    cause = knowledge().causes["guard_contact_open"]
    assert any("Never link this switch out" in s for s in cause.remedy.steps)
    assert "the next command does nothing" in cause.proof and "no_bypass" in cause.remedy.cautions


def test_false_trips_by_test_pulses_are_not_mended_by_a_filter_of_ones_own() -> None:
    steps = " ".join(knowledge().causes["output_test_pulses_seen"].remedy.steps)
    assert "no longer than they allow" in steps and "stopping distance" in steps
    assert "No capacitor and no plain relay of your own" in steps


@pytest.mark.parametrize(("state", "order"), [("masked", True), ("opening_in_series", False), ("mixed", False)])
def test_only_protective_devices_that_hide_each_other_stop_work(state: str, order: bool) -> None:
    assert ("stop_protection_lost" in stops({"out_combination_look": state}).stop_work) is order


TOLD_APART = {
    "unused_input_open": {"out_bridge_look": "unused_open"},
    "terminal_strip_one_off": {"out_terminal_look": "strip_off"},
    "strand_touches_neighbour": {"wir_terminal_tug": "strand"},
    "earth_or_bond_missing": {"wir_bond_look": "missing"},
    "line_picks_up_voltage": {"wir_line_pickup": "ghost"},
    "output_test_pulses_seen": {"out_output_look": "pulses_not_fit"},
    "opening_contacts_in_series": {"out_combination_look": "opening_in_series"},
    "devices_share_input": {"out_combination_look": "mixed"},
    "setting_switch_half_way": {"out_setting_look": "between"},
    "guard_contact_open": {"mec_release_look": "switch_open"},
}


@pytest.mark.parametrize(("cause", "answers"), TOLD_APART.items())
def test_the_look_that_decides_lifts_its_cause_fivefold(cause: str, answers: Mapping[str, Value]) -> None:
    before = dict(stops({}).belief.ranked())[cause]
    assert dict(stops(answers).belief.ranked())[cause] > 5 * before


AT_LIVE_LINES = (
    "out_contact_drop", "out_tap_test", "out_contact_load", "out_chain_input", "out_leak_volts", "wir_joint_drop",
    "wir_common_volts", "wir_connector_look", "wir_terminal_tug", "wir_core_order", "wir_shield_lift",
    "wir_temporary_cable", "wir_line_pickup", "wir_position_signal", "wir_stop_chain",
)  # fmt: skip


@pytest.mark.parametrize("check", AT_LIVE_LINES)
def test_nobody_works_at_a_line_of_a_gate_on_automatic(check: str) -> None:
    """A contact that closes, a core that comes off or a slip of the probe moves it."""
    assert re.search(r"out of automatic", knowledge().checks[check].help, re.IGNORECASE)


def test_a_stop_chain_is_measured_and_never_joined_across() -> None:
    check = knowledge().checks["wir_stop_chain"]
    assert "Nothing is joined across" in check.help and check.help.find("AC first") >= 0
    assert {"no_bypass", "mains_licensed", "low_voltage_source"} <= set(check.cautions)
    for silent in ({"manual_command": "no_movement"}, {"mec_motor_sound": "silent"}):
        assert "wir_stop_chain" in concluded(silent, "will_not_open").after.unlocked


def test_a_protective_wire_on_the_wrong_terminal_stops_work() -> None:
    """Its input never hears it; a strip that is one off moves the protective wires with all others."""
    assert "stop_protection_lost" in stops({"out_terminal_look": "strip_off"}).stop_work
    wrong: dict[str, Value] = {"out_terminal_look": "wrong_terminal"}
    assert "stop_protection_lost" in stops({**wrong, "out_which_output": "protective"}).stop_work
    assert stops({**wrong, "out_which_output": "activation"}).stop_work == ()


def test_no_mains_is_met_by_surprise_when_output_wires_are_lifted() -> None:
    check = knowledge().checks["out_contact_off"]
    assert check.help.find("out of automatic") < check.help.find("no mains") < check.help.find("Lift both wires")
    assert "mains_licensed" in check.cautions


def test_edges_are_tried_with_the_drive_locked_off_and_the_controller_powered() -> None:
    check = knowledge().checks["out_each_alone"]
    assert "locked off by itself, motor plug out, controller powered" in check.help


@pytest.mark.parametrize("check", ["wir_temporary_cable", "wir_shield_lift"])
def test_trouble_of_the_travel_is_sought_on_hold_to_run_and_not_during_stop_work(check: str) -> None:
    assert knowledge().checks[check].runs_gate and "hold-to-run" in knowledge().checks[check].help
