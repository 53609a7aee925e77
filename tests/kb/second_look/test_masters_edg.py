"""Edges, surroundings, other openers: what would have hurt or misled whoever did as it said stays mended."""

import re

import pytest

from tests.shipped import knowledge

LOCKED = re.compile(r"\block(ed)? off\b")
OUT = re.compile(r"\bout of automatic\b")


def steps(cause: str) -> str:
    return " ; ".join(knowledge().causes[cause].remedy.steps).casefold()


HANDS_ON_THE_LEAF = [
    "edg_radio_battery_flat", "edg_radio_sender_failed", "edg_terminator_wrong", "edg_contacts_dead",
    "edg_heat_swollen",
    "edg_cold_stiff", "edg_air_too_sensitive", "edg_wrong_side", "edg_part_height", "edg_none_at_draw_in",
    "edg_dead_stretch", "edg_too_shallow", "edg_wind_presses", "loose_item_moving", "corrosive_air",
]  # fmt: skip


@pytest.mark.parametrize("cause", HANDS_ON_THE_LEAF)
def test_a_remedy_that_asks_for_lock_off_says_when(cause: str) -> None:
    """A caution above the list is no step: the order of the steps is what is done."""
    assert "lock_off" in knowledge().causes[cause].remedy.cautions
    assert LOCKED.search(steps(cause))


@pytest.mark.parametrize(
    "cause", ["edg_input_type_wrong", "edg_evaluator_test_input", "edg_short_reversal", "edg_recloses_without_limit"]
)
def test_an_edge_that_may_not_protect_leaves_automatic_first(cause: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert "stop_protection_lost" in remedy.cautions
    assert OUT.search(remedy.steps[0].casefold())


MOVED_OR_OFF = [
    "puddle_mirror", "neighbour_scanner_interference", "low_sun_into_sensor", "headlights_into_sensor",
    "temperature_outside_limits", "window_misted_inside", "moving_reflector_blooms", "camera_infrared_lamp",
    "heavy_dust_site", "window_wet_drops", "water_drips_before_window", "wheel_spray_splash", "window_covered",
    "edg_radio_pairing_lost", "edg_air_too_sensitive", "edg_radio_interference", "edg_radio_range",
]  # fmt: skip


@pytest.mark.parametrize("cause", MOVED_OR_OFF)
def test_the_gate_is_not_on_automatic_while_its_sensor_is_moved_set_or_off(cause: str) -> None:
    assert OUT.search(steps(cause))


@pytest.mark.parametrize("cause", ["edg_short_reversal", "edg_recloses_without_limit"])
def test_a_leaf_runs_at_a_block_only_when_its_edge_was_reported(cause: str) -> None:
    test = knowledge().causes[cause].test.casefold()
    assert "press" in test and "reported" in test and "nobody" in test and "stop switch" in test


@pytest.mark.parametrize(
    "cause", ["edg_wrong_side", "edg_dead_stretch", "edg_radio_sender_failed", "edg_profile_crushed"]
)
def test_no_test_puts_a_hand_where_people_are_caught_with_the_drive_alive(cause: str) -> None:
    assert LOCKED.search(knowledge().causes[cause].test.casefold())


def test_nobody_pushes_a_leaf_before_its_guides_were_looked_at() -> None:
    cause = knowledge().causes["edg_wind_presses"]
    test = cause.test.casefold()
    assert "can fall" in test
    assert test.find("guide") < test.find("two people")
    assert "stop_may_fall" in cause.remedy.cautions


def test_no_end_stop_that_keeps_a_leaf_in_its_guide_is_cut() -> None:
    assert "never cut" in steps("edg_pressed_at_end")


def test_the_test_of_an_air_edge_never_runs_on_automatic_without_its_hose() -> None:
    """Many controllers make no test on hold-to-run: no refusal there proves nothing."""
    proof = knowledge().causes["edg_air_pulse_missing"].proof.casefold()
    assert "proves nothing" in proof and "never on automatic" in proof


@pytest.mark.parametrize("cause", ["edg_terminator_missing", "edg_profile_crushed"])
def test_the_line_is_not_read_by_meter_while_it_hangs_on_its_evaluator(cause: str) -> None:
    """And the press comes before the motor travels, not behind them."""
    proof = knowledge().causes[cause].proof.casefold()
    assert "it still does so" not in proof
    assert -1 < proof.find("back on its evaluator") < proof.rfind("reads the same")


@pytest.mark.parametrize("cause", ["edg_too_shallow", "edg_short_reversal"])
def test_a_person_held_fast_is_found_by_the_force_that_stays(cause: str) -> None:
    """EN 12453: after 5 s no more than 25 N is left; 150 N alone passes a gate that never lets go."""
    assert re.search(r"25 N.{0,20}5 s", knowledge().causes[cause].proof)


OTHER_WAYS = {"edg_optical_blocked", "edg_air_hose_leaks", "edg_pull_wire_slack"}


def test_a_cable_that_a_caller_sees_strikes_out_no_kind_that_has_a_cable() -> None:
    struck = [r for r in knowledge().rules.values() if OTHER_WAYS & set(r.then.exclude)]
    by_a_cable = [r for r in struck if "wired_resistive" in dict(r.when).get("edg_kind", ())]
    assert by_a_cable and all("technician" in dict(r.when).get("role", ()) for r in by_a_cable)


def test_no_record_strikes_out_a_plain_input_that_was_found() -> None:
    rule = knowledge().rules["edg_profile_says_resistive_input"]
    when = dict(rule.when)
    assert "edg_plain_input" in rule.then.exclude
    assert "edg_input_look" in when and "plain_input" not in when["edg_input_look"]


@pytest.mark.parametrize("more", [("edg_free_verdict", "healthy"), ("lamp_clear", "clear")])
def test_two_resistors_on_a_line_taken_for_sound_stop_work(more: tuple[str, str]) -> None:
    """8.2 kohm twice side by side is 4.1 kohm. Read as sound, a break in one of them is never noticed."""
    want = {"edg_terminator_look": "one_each", more[0]: more[1]}
    fit = [r for r in knowledge().rules.values() if set(dict(r.when)) == set(want)]
    assert any(all(v in dict(r.when)[k] for k, v in want.items()) and "lost" in str(r.then.derive) for r in fit)


def test_a_neighbours_protection_is_not_switched_off_under_its_traffic() -> None:
    cause = knowledge().causes["neighbour_scanner_interference"]
    assert OUT.search(cause.test.casefold())


def test_no_caller_carries_off_a_traffic_sign_or_has_an_alarm_lamp_put_out() -> None:
    sign, lamp = (knowledge().causes[c].caller for c in ("reflector_or_mirror_in_view", "flashing_light_nearby"))
    assert sign and "warning sign" in " ".join(sign.steps)
    assert lamp and "alarm lamp stays on" in " ".join(lamp.steps)


@pytest.mark.parametrize(("cause", "word"), [("sun_mirrored", "sun"), ("flashing_light_nearby", "arc")])
def test_no_caller_is_sent_to_look_into_glare(cause: str, word: str) -> None:
    told = knowledge().causes[cause].caller
    assert told and re.search(
        rf"(not look|nobody looks) into (the |a )?(\w+ )?{word}", " ".join(told.steps).casefold()
    )


@pytest.mark.parametrize("entry", ["causes.vapour_dust_cloud.test", "checks.env_engine_off.help"])
def test_no_engine_runs_in_a_shut_hall(entry: str) -> None:
    table, name, part = entry.split(".")
    assert "doors open" in getattr(getattr(knowledge(), table)[name], part)


def test_a_roof_does_not_strike_out_wash_down() -> None:
    assert "env_sprinkler_time" not in dict(knowledge().rules["env_indoors_no_snow_or_watering"].then.settle)


def test_a_caller_leaves_a_stop_button_to_whoever_answers_for_it() -> None:
    """The look says 'do not pull it out'; what is told afterwards must not say the opposite."""
    told = knowledge().causes["second_protective_device_active"].caller
    assert told and "leave it in" in " ".join(told.steps).casefold()
    assert "only whoever pressed it" in " ".join(told.steps).casefold()


def test_a_caller_presses_no_button_for_a_look() -> None:
    assert "caller only looks" in knowledge().checks["opn_button_look"].help


@pytest.mark.parametrize("cause", ["push_button_stuck", "reader_relay_welded", "keyswitch_or_button_dead"])
def test_a_long_cable_does_not_fail_a_sound_contact(cause: str) -> None:
    """100 m of 0.5 mm2 out and back is 7.8 ohm: no contact at its end reads under 2 ohm at the cabinet."""
    proof = knowledge().causes[cause].proof
    assert "under 2 ohm" in proof and "cable" in proof
    assert pytest.approx(7.8) == 0.0195 * 2 * 100 / 0.5


def test_no_answer_about_readers_strikes_out_a_ticket_machine() -> None:
    assert "ticket_machine_fault" not in knowledge().rules["opn_nothing_that_answers"].then.exclude
