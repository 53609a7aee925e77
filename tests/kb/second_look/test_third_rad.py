"""Radar, edges, surroundings: dangerous or empty proofs that a strict reviewer found stay mended."""

import pytest

from tests.shipped import knowledge

TURNED = ["rad_sensitivity_high", "rad_film_on_face", "rad_foliage_fence", "rad_direction_filter", "rad_face_covered"]
PRESSED = ["edg_contacts_dead", "edg_joint_corroded", "edg_water_in_edge", "edg_radio_battery_flat", "edg_bridged"]
EXCHANGED = ["edg_profile_crushed", "edg_water_in_edge", "edg_heat_swollen", "edg_reel_contacts", "edg_plain_input"]
SELDOM = [
    "rad_lamp_fan_off",
    "rad_mask_facing",
    "rad_turn_trial",
    "rad_blind_test",
    "env_move_away",
    "env_still_drive",
]


@pytest.mark.parametrize("cause", TURNED)
def test_a_head_that_may_be_turned_or_exchanged_has_its_bracket_proved(cause: str) -> None:
    assert "bracket" in knowledge().causes[cause].remedy.touches


@pytest.mark.parametrize("cause", PRESSED)
def test_nobody_presses_or_opens_an_edge_while_its_drive_can_start(cause: str) -> None:
    assert "drive locked off" in knowledge().causes[cause].test.casefold()


@pytest.mark.parametrize("cause", EXCHANGED)
def test_an_edge_that_is_exchanged_is_proved_as_a_protective_device(cause: str) -> None:
    assert {"edge", "protective_zone", "test_input"} <= set(knowledge().causes[cause].remedy.touches)


@pytest.mark.parametrize(
    "check", ["edg_resistance_free", "edg_resistance_pressed", "edg_edge_half", "edg_terminator_look"]
)
def test_an_edge_taken_off_is_back_and_pressed_before_the_drive_has_power(check: str) -> None:
    assert "pressed before the drive gets its power" in knowledge().checks[check].help


@pytest.mark.parametrize("check", SELDOM)
def test_a_trial_waits_longer_than_the_trouble_is_usually_away(check: str) -> None:
    says = knowledge().checks[check].help
    assert "usual gap" in says


@pytest.mark.parametrize("check", ["rad_mask_facing", "env_neighbour_off"])
def test_both_gates_leave_automatic_and_the_neighbour_is_seen_to_detect_again(check: str) -> None:
    says = knowledge().checks[check].help
    assert "both gates out of automatic" in says.casefold() or "your own gate and the gate that it serves" in says
    assert "detects again before" in says.replace(",", "")


def test_a_short_field_is_no_cure_where_the_radar_protects() -> None:
    steps = " ".join(knowledge().causes["rad_sees_leaf"].remedy.steps)
    assert "Shorten the field on that side only for a head that does nothing but open" in steps


def test_a_callers_look_strikes_out_no_radio_edge() -> None:
    rules = knowledge().rules
    struck = {name for name, rule in rules.items() if "edg_radio_sender_failed" in rule.then.exclude}
    assert struck and all("role" in rules[name].when for name in struck)
