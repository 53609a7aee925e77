"""Wiring, outputs and what all share, as a master of the trade reads them: what he would not sign stays mended.

Each test fails on the entry as it was. Ids of entries are named, never cases.
"""

import re
from collections.abc import Mapping

import pytest

from diagnose.model.visit import Answer, Setup, Value
from tests.kb.test_dangerous import concluded, face_value
from tests.shipped import knowledge

PROTECTION = {"protective_zone", "test_input"}


def left(answers: Mapping[str, Value], cause: str) -> float:
    """What chance a cause keeps; nothing once a rule has struck it out."""
    return dict(concluded(answers).belief.ranked()).get(cause, 0.0)


STOPS: tuple[tuple[dict[str, Value], str], ...] = (
    ({"out_contact_load": "mains"}, "stop_electric"),
    ({"wir_shield_lift": "live"}, "stop_electric"),
    ({"wir_shield_lift": "over_one_amp"}, "stop_electric"),
    ({"wir_core_order": "others_swapped"}, "stop_protection_lost"),
    ({"wir_core_order": "signal_swapped"}, "stop_protection_lost"),
    ({"wir_cable_moves": "moves", "wir_position_signal": "elsewhere"}, "stop_protection_lost"),
    ({"wir_cable_moves": "moves", "wir_position_signal": "never"}, "stop_protection_lost"),
    ({"wir_terminal_tug": "strand", "out_which_output": "protective"}, "stop_protection_lost"),
    ({"out_passing_vehicle": "standing_only", "out_which_output": "protective"}, "stop_protection_lost"),
    ({"out_passing_vehicle": "neither", "out_which_output": "protective"}, "stop_protection_lost"),
    ({"out_passing_vehicle": "lamp_missed", "out_which_output": "protective"}, "stop_protection_lost"),
)


@pytest.mark.parametrize(("answers", "order"), STOPS)
def test_an_answer_that_shows_danger_orders_its_stop(answers: dict[str, Value], order: str) -> None:
    assert order in concluded(answers).stop_work


QUIET: tuple[dict[str, Value], ...] = (
    {"out_contact_load": "over_rating"},
    {"wir_shield_lift": "cured"},
    {"wir_core_order": "as_drawn"},
    {"wir_cable_moves": "moves", "wir_position_signal": "none"},
    {"wir_terminal_tug": "strand", "out_which_output": "activation"},
    {"out_passing_vehicle": "neither", "out_which_output": "activation"},
)


@pytest.mark.parametrize("answers", QUIET)
def test_its_harmless_neighbour_stops_nobody(answers: dict[str, Value]) -> None:
    assert concluded(answers).stop_work == ()


def test_volts_that_stay_on_a_line_count_as_found_and_are_followed_up() -> None:
    """They come from a circuit that touches the line; the tester for insulation is asked for next."""
    states = knowledge().findings["wir_line_pickup"].states
    assert "some_stand" not in {*states["quiet"], *states["ghost"]}
    found = concluded({"wir_line_pickup": "some_stand"})
    assert {"low_voltage_source", "mains_licensed"} <= set(found.after.cautions)
    assert "wir_insulation" in found.after.unlocked
    wet = {"wir_line_pickup": "some_stand"}
    assert left(wet, "junction_box_wet") > left({"wir_line_pickup": "ghost"}, "junction_box_wet")


def test_the_volts_that_prove_a_pick_up_are_those_that_its_check_calls_so() -> None:
    says = knowledge().checks["wir_line_pickup"].options["ghost"]
    shown = re.search(r"(\d+) V AC or more", knowledge().causes["line_picks_up_voltage"].test)
    assert shown and says.startswith(f"{shown[1]} V or more")


def test_too_much_current_destroys_a_transistor_too() -> None:
    """Its coil without a diode is still there when the next sensor is fitted."""
    solid: dict[str, Value] = {"out_output_look": "solid_state_fits"}
    assert left(solid, "output_contact_overloaded") > 0
    assert left(solid, "output_contact_welded") == 0


def test_an_earth_core_used_for_a_signal_is_found_where_the_screen_has_one_end() -> None:
    """The look has an answer for it, so that a one-ended screen may strike the cause out."""
    before = left({}, "earth_loop_on_shield")
    assert left({"wir_shield_look": "earth_core"}, "earth_loop_on_shield") > 2 * before
    assert "mains_licensed" in concluded({"wir_shield_look": "earth_core"}).after.cautions
    assert "green-yellow" in knowledge().checks["wir_shield_look"].help


def test_two_loose_minus_lines_are_not_taken_as_linked() -> None:
    """A meter pulls two floating supplies together; only ohms with both off show the link."""
    check = knowledge().checks["wir_common_volts"]
    assert "both off" in check.help and "ohms between the two" in check.help and "ohm" in check.good


@pytest.mark.parametrize(
    "cause",
    [
        "output_contact_filmed", "output_contact_overloaded", "solid_state_leakage", "solid_state_polarity_wrong",
        "transmitter_feed_lost", "common_reference_missing", "duct_entry_unsealed", "earth_loop_on_shield",
    ],
)  # fmt: skip
def test_no_wire_is_moved_while_the_gate_is_on_automatic(cause: str) -> None:
    """Whichever output it is: a wire that moves gives a command or takes a protection away."""
    assert "Gate out of automatic" in knowledge().causes[cause].remedy.steps[0]


def test_a_hold_that_protects_is_not_set_on_automatic() -> None:
    remedy = knowledge().causes["output_hold_too_long"].remedy
    assert "out of automatic" in remedy.steps[0] and "settings_copied_first" in remedy.cautions


def test_a_coil_that_stops_the_drive_gets_no_diode_of_ones_own() -> None:
    """A diode makes it release late, and the gate runs on."""
    steps = " ".join(knowledge().causes["output_contact_overloaded"].remedy.steps)
    assert "release late" in steps and "only the part that its papers name" in steps


def test_nobody_stands_between_leaf_and_wall_with_a_test_piece() -> None:
    """The blanked place is the one where the sensor stops nothing."""
    remedy = knowledge().causes["leaf_position_signal_missing"].remedy
    step = next(s for s in remedy.steps if "blanked place" in s and "test piece" in s)
    assert "Drive locked off" in step and "on a pole" in step and "lock_off" in remedy.cautions


@pytest.mark.parametrize("cause", ["plain_contact_on_resistive_input", "output_test_pulses_seen"])
def test_a_short_made_for_the_proof_is_counted_out(cause: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert "bridges" in remedy.touches and "no_bypass" in remedy.cautions


CARRIES_EDGES = ("core_broken_in_moving_cable", "junction_box_wet", "splice_with_water", "cable_damaged")


@pytest.mark.parametrize("cause", CARRIES_EDGES)
def test_a_cable_that_is_changed_may_carry_the_edge(cause: str) -> None:
    assert {*PROTECTION, "edge"} <= set(knowledge().causes[cause].remedy.touches)


def test_cores_joined_for_a_flex_test_are_off_their_terminals_and_parted_again() -> None:
    """Joined at the device alone they would hold a protective input at rest."""
    text = knowledge().checks["wir_flex_test"].help
    assert "both cable ends off their terminals" in text and "Part them again" in text


def test_the_rule_of_crossed_zones_speaks_of_the_zone_that_was_tried() -> None:
    rule = next(r for r in knowledge().rules.values() if r.id == "wir_crossed_zones_stop_work")
    assert rule.says.startswith("The activation zone")


def test_no_caller_is_told_that_a_switch_stills_every_motor() -> None:
    """A battery or solar pack still moves a gate whose mains is off."""
    said = " ".join(knowledge().complaints["stuck_open"].meanwhile)
    assert "its motor cannot" not in said and re.search(r"battery.*may move", said)


HIGH = ("output_contact_welded", "output_contact_filmed", "output_contact_overloaded", "output_relay_failed")


@pytest.mark.parametrize("cause", HIGH)
def test_a_sensor_that_is_changed_may_hang_high(cause: str) -> None:
    assert "ladder" in knowledge().causes[cause].remedy.cautions


def test_every_reading_of_contact_joint_and_insulation_is_spoken_of() -> None:
    """No number lies between what the text calls good and what it calls bad."""
    for check, between in {
        "out_contact_resistance": "Between 0.5 and 2 ohm", "out_contact_drop": "Between 0.1 and 0.5 V",
        "wir_joint_drop": "Between 0.02 and 0.1 V", "out_line_resistance": "Another value between",
    }.items():  # fmt: skip
        assert between in knowledge().checks[check].bad, check
    assert "Over 50 Mohm" in knowledge().checks["wir_insulation"].good


def test_a_box_with_mains_is_opened_by_nobody_but_the_licensed_person() -> None:
    help_ = knowledge().checks["wir_junction_look"].help
    assert re.search(r"mains, its lid is for the licensed person", help_)


def test_no_caller_works_at_a_gate_that_a_battery_can_still_move() -> None:
    assert re.search(r"battery.*do not do it", knowledge().cautions["caller_hands_first"].says)


def test_proofs_of_zone_and_test_put_nobody_before_a_gate_that_may_run() -> None:
    """The zone of an opening sensor lies in the reach of many a leaf; a test that fails lets the gate run."""
    proofs = knowledge().proofs
    assert "Gate held still while anybody walks" in proofs["activation_zone"].says
    assert proofs["test_input"].says.startswith("Nobody in the path")
    assert "never a box that holds mains" in proofs["wet"].says


def test_oil_under_pressure_is_a_danger_that_wants_its_caution() -> None:
    danger = knowledge().dangers["hydraulics"]
    assert danger.cautions == ("hydraulic_oil",) and re.search(danger.words, "loosen the hydraulic hose")


@pytest.mark.parametrize("cause", ["solid_state_leakage", "solid_state_polarity_wrong"])
def test_volts_of_an_input_are_those_of_its_own_kind(cause: str) -> None:
    """15 V would fail every 12 V controller."""
    assert "24 V input" in knowledge().causes[cause].proof


def test_a_screen_is_measured_where_it_was_lifted() -> None:
    """While it is still joined at both ends it reads nothing."""
    steps = " ".join(knowledge().causes["earth_loop_on_shield"].remedy.steps)
    assert re.search(r"lifted end and the sensor's metal together, measure AC", steps)


def test_cores_of_a_mains_cable_are_left_to_the_electrician() -> None:
    steps = " ".join(knowledge().causes["line_picks_up_voltage"].remedy.steps)
    assert "Cores of a mains cable are the licensed electrician's" in steps and "lock off" in steps


def test_a_cover_of_a_sensor_may_be_out_of_reach_from_the_ground() -> None:
    assert "ladder" in knowledge().access["sensor_cover"].cautions


def test_one_output_on_both_inputs_is_warned_of() -> None:
    found = concluded({"out_zone_to_input": "both"})
    assert "not_for_people" in found.after.cautions


def test_a_motor_in_its_housing_may_still_hold_a_charge() -> None:
    assert "capacitor_charge" in knowledge().access["operator_housing"].cautions


def test_somebody_who_stands_by_does_not_stop_a_gate() -> None:
    """Cars pass a gate that is not trusted only while it stands fully open."""
    said = knowledge().complaints["time_of_day"].meanwhile[0]
    assert "only when it stands fully open" in said


def test_a_caller_who_sees_no_cable_move_does_not_strike_its_break_out() -> None:
    """It may bend inside a leaf or a chain that nobody sees from the footpath."""
    given = [Answer("wir_cable_moves", "fixed")]
    on_call = face_value().conclude(Setup(role="help_desk"), "intermittent", given)
    assert dict(on_call.belief.ranked()).get("core_broken_in_moving_cable", 0.0) > 0
    assert left({"wir_cable_moves": "fixed"}, "core_broken_in_moving_cable") == 0
