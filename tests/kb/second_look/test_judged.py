"""Entries that a master, who drew them at random, would not have signed, as they stand after mending.

What can be worked out is worked out here: heights, forces, bending, slopes and volts.
"""

import math
import re

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.knowledge import Cause, Check
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
OUT = "out of automatic"
REACH_M = 2.2  # what a person's hands reach from the ground
PIVOT_M = 0.9
HALF_UP = math.radians(45)


def concluded(profile: dict[str, Value], *devices: str, **answers: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    setup = Setup(devices=devices or ("laser",), electrician=True, profile=profile)
    return READ.conclude(setup, "intermittent", given)


def cause(key: str) -> Cause:
    return knowledge().causes[key]


def check(key: str) -> Check:
    return knowledge().checks[key]


def number(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found, f"{pattern} is not said in: {text}"
    return float(found.group(1))


def height(along_m: float) -> float:
    """How high a point of the arm is at 45 degrees."""
    return PIVOT_M + along_m * math.sin(HALF_UP)


def load(at_m: float, length_m: float, mass_kg: float) -> float:
    """What an arm without any spring lays on a prop there; the slope shortens both levers alike."""
    return mass_kg * 9.81 * length_m / 2 / at_m


def bend_mm(force_n: float, at_m: float, length_m: float) -> float:
    """How far the head of a steel tube 60 x 3 mm, fixed in the ground, moves when it is pushed at that height."""
    second_moment = math.pi / 64 * (0.060**4 - 0.054**4)
    return 1000 * force_n * at_m**2 * (3 * length_m - at_m) / (6 * 210e9 * second_moment)


@pytest.mark.parametrize("length", [3.0, 4.0, 6.0])
def test_nobody_is_to_hold_an_arm_whose_tip_is_out_of_reach(length: float) -> None:
    assert height(length) > REACH_M
    said = check("mec_spring_balance").help + cause("barrier_spring_unbalanced").test
    assert "near its tip" not in said and "arm held" not in said and said.count("obody holds the arm") == 2


def test_the_prop_is_set_from_the_ground_and_carries_an_arm_without_springs() -> None:
    said = check("mec_spring_balance").help
    at, carries = number(r"(\d\.\d) m from the pivot", said), number(r"for (\d+) N", said)
    assert height(at) <= REACH_M
    longest, heaviest = number(r"arm over (\d+) m", said), number(r"or (\d+) kg the maker", said)
    assert carries >= 1.5 * load(at, longest, heaviest)


def test_the_balance_is_proved_on_a_prop_that_is_reached_and_carries() -> None:
    proof = cause("barrier_spring_unbalanced").proof
    steep = number(r"at 60 degrees the prop stands (\d) m from the pivot", proof)
    assert PIVOT_M + steep * math.sin(math.radians(60)) <= REACH_M
    assert load(steep, 6, 30) <= number(r"for (\d+) N", check("mec_spring_balance").help)


def test_prop_and_line_hold_the_arm_before_its_drive_is_released() -> None:
    said = check("mec_spring_balance").help
    order = [
        "Look for a broken spring",
        "tie a line to its tip",
        "set a prop",
        "second person",
        "Release from behind",
    ]
    assert [said.index(word) for word in order] == sorted(said.index(word) for word in order)
    assert said.index("lock the release again") < said.index("before line or prop come off")
    assert check("mec_spring_balance").runs_gate and "lane_closed" in check("mec_spring_balance").cautions


def test_a_broken_arm_stops_work_as_a_broken_leaf_does() -> None:
    found = concluded({"site.gate_type": "barrier_arm"}, mec_travel_look="bent")
    assert "stop_stored_motion" in found.stands
    assert not concluded({"site.gate_type": "barrier_arm"}, mec_travel_look="clear").stands


PAIR = ("test_polarity_reversed", "test_level_opposite", "test_voltage_unsuitable", "test_wire_broken")
SUPPLY_TESTED = ("startup_exceeds_test_supply", "controller_test_output_dead", "shared_test_one_silent")


def possible(found: Conclusion, key: str) -> bool:
    return dict(found.belief.ranked()).get(key, 0.0) > 0


@pytest.mark.parametrize("key", PAIR + SUPPLY_TESTED)
def test_a_record_without_test_output_alone_strikes_nothing_out(key: str) -> None:
    assert possible(concluded({"site.test_output": "none"}), key)


@pytest.mark.parametrize("key", PAIR)
def test_record_and_look_together_strike_the_test_pair_out(key: str) -> None:
    profile: dict[str, Value] = {"site.test_output": "none", "site.protective_input": "plain"}
    assert not possible(concluded(profile, mon_setting_look="fits"), key)


def test_the_supply_may_be_switched_where_no_terminal_is_called_test_output() -> None:
    found = concluded({"site.test_output": "none"}, "photo_eye")
    assert possible(found, "transmitter_not_on_test_supply")


def charged(on_charger: float, at_rest: float) -> bool:
    """Whether the two readings are called a contradiction."""
    asked: dict[str, Value] = {"sup_charger_volts": on_charger, "sup_battery_rest": at_rest}
    found = concluded({}, sup_power_kind="mains_battery", sup_battery_nominal=24.0, **asked)
    return "sup_charge_cannot_read_below_rest" in found.after.contradictions


def test_a_dead_charger_in_frost_is_no_contradiction() -> None:
    rest, blocks, below_20 = 25.2, 2, 35
    corrected = rest - 0.02 * blocks * below_20
    assert corrected == pytest.approx(23.8) and not charged(corrected, rest)
    assert charged(27.0, 28.5)
    assert "only where the volts fell" in check("sup_charger_volts").bad


def contradicted(rule: str, **answers: Value) -> bool:
    return rule in concluded({}, **answers).after.contradictions


def test_a_key_left_in_a_switch_that_sprang_back_is_no_contradiction() -> None:
    rule, seen = "opn_no_active_input_none_held", {"input_clear": "none", "when_it_happens": "always"}
    assert contradicted(rule, opn_keyswitch_look="turned", **seen)
    assert "key_left" in check("opn_keyswitch_look").options
    assert not contradicted(rule, opn_keyswitch_look="key_left", **seen)
    assert "key left in a switch that sprang back" in knowledge().rules[rule].says


ALONE = {"input_clear": "sensor_activation", "mec_travel_look": "clear"}
ELSE = [
    {"input_clear": "sensor_activation", "mec_travel_look": "ice"},  # the snow stood in the leaf's way
    {"input_clear": "other_opening", "mec_travel_look": "clear"},  # a second sensor watches the same place
]


@pytest.mark.parametrize("seen", ELSE)
def test_clearing_helps_where_something_else_met_the_thing(seen: dict[str, Value]) -> None:
    rule = "env_innocent_sensor_cannot_be_cured_by_clearing"
    said: dict[str, Value] = {"isolation_test": "trouble_stays", "env_area_look": "snow", "env_move_away": "goes"}
    assert contradicted(rule, **said, **ALONE)
    assert not contradicted(rule, **said, **seen)


def test_a_neighbour_may_disturb_a_second_sensor() -> None:
    rule = "env_innocent_sensor_no_neighbour_cure"
    said: dict[str, Value] = {"isolation_test": "trouble_stays", "env_neighbour_off": "goes"}
    profile: dict[str, Value] = {"site.neighbour_scanner": "yes"}
    own, other = (concluded(profile, input_clear=i, **said) for i in ("sensor_protective", "other_protective"))
    assert rule in own.after.contradictions and rule not in other.after.contradictions


def test_a_sound_post_bends_more_than_two_millimetres_and_is_not_accused() -> None:
    sound = bend_mm(200, 1.2, 2.5)
    assert 6 < sound < 7 and "6 or 7 mm" in check("rad_mount_push").good
    assert "2 mm" not in cause("rad_mount_vibrates").test + check("rad_mount_push").good
    assert "chest height" in cause("rad_mount_vibrates").test


def test_a_usual_crossfall_alone_would_read_as_a_rolled_scan() -> None:
    limit = knowledge().calculations["las_roll_verdict"].constants["tolerance"]
    assert limit < 0.02 * 3
    said = [cause("scan_rolled").test, cause("scan_rolled").proof, check("las_height_side_near").help]
    assert all("above a string" in text or "above the string" in text for text in said)
    assert "above the same string" in check("las_roll").help


@pytest.mark.parametrize("text", [cause("rad_facing_sensor").test, check("rad_mask_facing").help])
def test_a_ghost_is_waited_for_longer_than_its_own_gap(text: str) -> None:
    assert "three times the usual gap" in text and "three minutes" not in text


ADDED = ("protective_zone_short", "clear_load_missed", "threshold_strip_gap", "long_tail_outside_zone")


@pytest.mark.parametrize("key", [*ADDED, "travel_not_masked"])
def test_a_sensor_that_is_added_owes_its_bracket_and_covers(key: str) -> None:
    assert {"bracket", "covers", "test_input"} <= set(cause(key).remedy.touches)


FAILING_TEST = (*PAIR, *SUPPLY_TESTED, "transmitter_not_on_test_supply", "monitored_input_test_unwired")


@pytest.mark.parametrize("key", FAILING_TEST)
def test_automatic_waits_while_a_monitored_test_fails(key: str) -> None:
    assert "mon_automatic_waits" in cause(key).remedy.cautions
    assert OUT in " ".join(cause(key).remedy.steps).casefold()


SAID = {
    "edg_air_pulse_missing": ("Never uncouple the motor", "a press with a test piece"),
    "leaf_scan_meets_leaf": ("keeps its supply", "hands out of the plane"),
    "hydraulic_pressure_lost": ("holds by oil alone", "electric lock"),
    "residual_current_leakage": ("type mark",),
    "rad_filter_drops_wanted": (OUT, "lock and mark it"),
    "vapour_dust_cloud": ("while it works",),
    "edg_input_type_wrong": ("Any other kind", "refuses it now"),
    "wir_common_volts": ("opto-coupler",),
    "eye_neighbour_off": ("Both gates out of automatic", "detects again before its gate"),
    "las_travel_in_zone": ("without ever meeting it", "stays out of automatic"),
    "edg_flex_test": ("both wires lifted off the evaluator", "within 1 ohm"),
    "edg_cover_look": ("rod of 8 mm", "less than 25 mm"),
}


@pytest.mark.parametrize("key", SAID)
def test_what_the_master_missed_is_said(key: str) -> None:
    found = knowledge().causes.get(key)
    one = check(key) if found is None else None
    text = f"{one.help} {one.good}" if one else ""
    if found:
        text = " ".join([found.test, *found.remedy.steps, found.proof])
    missing = [word for word in SAID[key] if word.casefold() not in text.casefold()]
    assert not missing


def test_oil_is_not_locked_in_before_the_hydraulics_are_closed_again() -> None:
    steps = cause("hydraulic_pressure_lost").remedy.steps
    opened, shut = (
        next(i for i, s in enumerate(steps) if s.startswith(w)) for w in ("Change seal", "Only then shut")
    )
    assert opened < shut


def test_a_flexed_line_is_measured_only_where_there_is_one() -> None:
    assert set(check("edg_flex_test").only_if["edg_kind"]) == {"wired_resistive", "wired_switching"}
    assert "mains_inside" in check("mon_wire_ohms").cautions
