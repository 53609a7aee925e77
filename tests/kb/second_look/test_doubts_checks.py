"""Checks and rules at which a strict master had left a doubt: what could hurt or accuse the wrong part stays mended.

Each test fails on the entry as it was. Ids of entries are named, never cases.
"""

from collections.abc import Mapping
from types import MappingProxyType

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Role, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
STOP = "stop_protection_lost"


def check(key: str) -> Check:
    return knowledge().checks[key]


def concluded(
    answers: Mapping[str, Value], *devices: str, complaint: str = "intermittent", role: Role = "technician",
    profile: Mapping[str, Value] = MappingProxyType({}),
) -> Conclusion:  # fmt: skip
    given = [Answer(key, value) for key, value in answers.items()]
    setup = Setup(devices=devices, role=role, electrician=role == "technician", profile=profile)
    return READ.conclude(setup, complaint, given)


def share(found: Conclusion, cause: str) -> float:
    return dict(found.belief.ranked()).get(cause, 0.0)


# -- what protects is taken as lost until it is proved -------------------------------------------------------------


def test_an_edge_input_set_for_another_edge_stops_work_by_itself() -> None:
    assert STOP in concluded({"edg_input_look": "other_type"}, "edge").stop_work
    assert STOP not in concluded({"edg_input_look": "matches"}, "edge").stop_work


def test_an_edge_is_pressed_before_the_gate_travels_on_it() -> None:
    said = check("edg_travel_watch").help
    assert -1 < said.find("presses the edge") < said.find("three travels")


@pytest.mark.parametrize(
    "seen",
    [{"eye_cover_test": "inverted"}, {"eye_mode_switch": "wrong_way"},
     {"eye_kind": "reflector", "eye_shiny_panel": "missed"},
     {"eye_gap_watch": "never"}, {"eye_cover_test": "slow"}, {"eye_mode_switch": "delay_set"}],
)  # fmt: skip
def test_a_blind_eye_that_should_stop_an_opening_gate_stops_work(seen: dict[str, Value]) -> None:
    assert STOP in concluded({"eye_job": "stops_opening", **seen}, "photo_eye").stop_work
    assert STOP not in concluded({"eye_job": "opens", **seen}, "photo_eye").stop_work


@pytest.mark.parametrize(("run_on_mm", "stops"), [(60.0, False), (180.0, True)])
def test_a_long_run_on_stops_work_before_anything_was_hit(run_on_mm: float, stops: bool) -> None:
    found = concluded({"mec_overrun_mm": run_on_mm}, complaint="stuck_open")
    assert (STOP in found.stop_work) is stops
    assert "answer 'cannot check'" in check("mec_overrun_mm").help  # where a proved record allows more


def test_a_gate_that_stays_without_reporting_a_test_fault_proves_no_monitoring() -> None:
    stays, refuses, nothing = (
        concluded(given, complaint="test_fault")
        for given in ({"mon_inject_fault": "stays_only"}, {"mon_inject_fault": "refuses"}, {})
    )
    assert "prove_after" in stays.after.cautions
    for cause in ("test_wire_broken", "monitored_input_test_unwired"):
        assert share(stays, cause) == pytest.approx(share(nothing, cause))
    assert "test fault" in check("mon_inject_fault").options["refuses"] and not refuses.stop_work


def test_metal_and_bar_that_are_live_together_are_not_called_bonded() -> None:
    """With the incoming earth broken both stand at the same volts, and 0 V is between them."""
    said = check("wir_bond_look")
    assert -1 < said.help.find("bar to the ground") < said.help.find("to the earth bar")
    assert "ground" in said.options["live"] and "ground" in said.good


def test_a_zone_of_which_nobody_knows_is_proved() -> None:
    found = concluded({"las_last_teach": "not_known"}, "laser")
    assert {"prove_after", "no_body_test"} <= set(found.after.cautions)


def test_in_fog_and_snow_somebody_keeps_the_drivers_off() -> None:
    assert "lane_closed" in concluded({"when_it_happens": "fog_snow"}).after.cautions
    assert "fog" in knowledge().cautions["lane_closed"].says


# -- nothing sound is accused, nothing faulty is cleared -----------------------------------------------------------


def test_light_that_is_sent_in_pulses_is_not_called_faint() -> None:
    states = check("eye_transmitter_glow").finding
    assert states and "pulses" in states.states["glows"]
    assert "flicker" not in check("eye_transmitter_glow").options["faint"]


def test_nobody_who_came_clears_no_zone() -> None:
    came, none, before = (
        concluded(given, "laser", complaint="ghost_opening")
        for given in ({"las_passers_by": "nobody"}, {"las_passers_by": "nobody_came"}, {})
    )
    assert "nobody_came" in check("las_passers_by").options
    cause = "zone_too_large"
    assert share(came, cause) < share(before, cause) == pytest.approx(share(none, cause))


def test_a_third_of_the_volts_missing_at_one_head_is_seen_on_12_v_too() -> None:
    given: dict[str, Value] = {"eye_kind": "through_beam", "eye_supply_transmitter": 9.5, "eye_supply_receiver": 12.0}
    assert concluded(given, "photo_eye").values["eye_supply_balance"] == "b_larger"


LOOP: dict[str, Value] = {"lop_inductance_least": 150.0, "lop_resistance": 0.9, "lop_insulation": 200.0}


def test_shorted_turns_of_a_large_loop_are_not_in_range() -> None:
    """120 uH is a usual loop, but not where turns and size must give 300."""
    short, sound = (concluded({**LOOP, "lop_inductance": uh}, "loop") for uh in (120.0, 290.0))
    assert short.values["lop_inductance_found"] == "too_low"
    assert sound.values["lop_inductance_found"] == "in_range"
    assert "loop_wrong_turns" not in short.after.excluded and "loop_wrong_turns" in sound.after.excluded


def test_without_turns_and_size_the_usual_range_judges() -> None:
    found = {
        uh: concluded({"lop_inductance": uh}, "loop").values["lop_inductance_found"] for uh in (30.0, 120.0, 900.0)
    }
    assert found == {30.0: "too_low", 120.0: "in_range", 900.0: "too_high"}


@pytest.mark.parametrize(("ohm", "word"), [(8300.0, "as_papers"), (5600.0, "other_value"), (200.0, "no_resistor")])
def test_a_supervised_line_is_held_against_its_papers(ohm: float, word: str) -> None:
    given: dict[str, Value] = {"out_line_papers": 8200.0, "out_line_resistance": ohm}
    found = concluded(given, "laser", profile={"site.protective_input": "resistive"})
    assert found.values["out_line_found"] == word
    assert ("mon_automatic_waits" in found.after.cautions) is (word == "other_value")


@pytest.mark.parametrize("key", ["mon_test_volts", "mon_test_out", "mon_polarity", "mon_transmitter_feed"])
def test_a_slow_meter_accuses_no_test(key: str) -> None:
    assert "shorter than 0.1 s" in check(key).help and "proves nothing" in check(key).help


@pytest.mark.parametrize("key", ["sup_volts_source", "sup_volts_sensor"])
def test_a_supply_marked_ac_is_read_on_ac(key: str) -> None:
    assert "marked AC, the AC range" in check(key).help


def test_mist_without_frost_is_no_reason_to_feel_for_warmth() -> None:
    assert "env_window_warm" not in concluded({"env_window_look": "misted"}, "laser").after.unlocked
    assert "env_window_warm" in concluded({"env_window_look": "iced"}, "laser").after.unlocked
    assert "lock_off" in check("env_window_warm").cautions


def test_a_head_laid_under_rain_is_not_accused() -> None:
    assert "dry weather" in check("rad_blind_test").help and "bracket shook" in check("rad_blind_test").good


# -- what a caller guesses rules nothing out, and each kind has an answer ------------------------------------------

GUESSES = [
    ({"sup_power_kind": "solar"}, "mains_lost", ()),
    ({"sup_power_kind": "mains_battery"}, "solar_charging_short", ()),
    ({"eye_kind": "through_beam"}, "photo_eye_cells_flat", ("photo_eye",)),
    ({"eye_kind": "reflector"}, "transmitter_feed_lost", ("photo_eye",)),
    ({"edg_kind": "wired_switching"}, "edg_terminator_missing", ("edge",)),
]


@pytest.mark.parametrize(("answer", "cause", "devices"), GUESSES)
def test_a_callers_guess_strikes_nothing_out(answer: dict[str, Value], cause: str, devices: tuple[str, ...]) -> None:
    assert cause in concluded(answer, *devices).after.excluded
    assert cause not in concluded(answer, *devices, role="help_desk").after.excluded


def test_mains_and_panel_together_keep_both_under_suspicion() -> None:
    found = concluded({"sup_power_kind": "mains_solar"})
    assert not {"mains_lost", "battery_charger_failed", "solar_charging_short"} & set(found.after.excluded)
    assert "lock_off" in found.after.cautions
    for key in ("sup_charger_volts", "sup_panel_charge", "sup_battery_rest"):
        assert "mains_solar" in dict(check(key).only_if)["sup_power_kind"]


def test_a_seized_pivot_of_an_arm_is_on_the_list_and_its_spring_is_let_down_first() -> None:
    arm, leaf = (
        concluded({}, complaint="will_not_open", profile={"site.gate_type": g}) for g in ("barrier_arm", "sliding")
    )
    assert share(arm, "arm_pivot_seized") > 0 == share(leaf, "arm_pivot_seized")
    steps = " | ".join(knowledge().causes["arm_pivot_seized"].remedy.steps)
    assert -1 < steps.find("springs have least tension") < steps.find("takes the arm off")
