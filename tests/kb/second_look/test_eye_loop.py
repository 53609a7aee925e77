"""Photo-eyes and loops, held to what a master of the trade asked for who read every entry of theirs.

Source of what is asked: common practice where no standard or formula is named.
"""

import re

import pytest

from diagnose.calc.loops import detection_height_m
from diagnose.model.knowledge import Cause
from tests.shipped import knowledge

NEW_HEAD = re.compile(r"(?i)\b(photo-eye with|photo-eye head|transmitter|receiver|polarised eye|second pair)\b")
PROTECTION = {"protective_zone", "test_input"}


def told(cause: Cause) -> str:
    return " ".join(cause.remedy.steps).casefold()


def eye_causes_with_a_new_head() -> list[str]:
    causes = knowledge().causes
    return [c for c in causes if c.startswith("photo_eye_") and NEW_HEAD.search(" ".join(causes[c].remedy.parts))]


@pytest.mark.parametrize("cause", [*eye_causes_with_a_new_head(), "photo_eye_low_sun"])
def test_a_new_or_exchanged_head_owes_the_beam_and_the_monitored_test(cause: str) -> None:
    """Heads exchanged against the sun once owed no proof of the test that switches the transmitter."""
    assert set(knowledge().causes[cause].remedy.touches) >= PROTECTION


def test_the_list_of_new_heads_is_not_empty() -> None:
    assert len(eye_causes_with_a_new_head()) >= 5


def test_a_beam_made_short_for_a_test_leaves_the_gate_without_protection() -> None:
    check = knowledge().checks["eye_close_test"]
    assert "drive off" in check.help and "prove the beam" in check.help
    assert "prove_after" in check.cautions


@pytest.mark.parametrize("check", ["eye_sweep_left", "eye_sweep_right"])
def test_who_turns_a_protective_head_proves_it_again(check: str) -> None:
    assert {"moving_gate", "prove_after"} <= set(knowledge().checks[check].cautions)


@pytest.mark.parametrize("check", ["eye_reserve", "eye_transmitter_glow", "eye_gap_watch", "eye_beam_height"])
def test_nobody_works_at_the_beam_of_a_gate_that_may_move(check: str) -> None:
    assert "moving_gate" in knowledge().checks[check].cautions
    assert "out of automatic" in knowledge().checks[check].help


@pytest.mark.parametrize(
    "check", ["eye_beam_height", "eye_distance", "lop_perimeter", "lop_short_side", "lop_leaf_distance"]
)
def test_nobody_takes_a_tape_across_an_open_lane(check: str) -> None:
    entry, kb = knowledge().checks[check], knowledge()
    opened = kb.access[entry.access].cautions if entry.access else ()
    assert "lane_closed" in {*entry.cautions, *opened}


def test_a_low_eye_is_never_raised() -> None:
    """A low pair stands there for people, children and animals; draw-bars lie at 0.35 to 0.50 m."""
    cause = knowledge().causes["photo_eye_beam_height_wrong"]
    assert "never raise a low pair" in told(cause) and "against each other" in told(cause)
    assert "cannot check" in knowledge().checks["eye_beam_height"].help


def test_a_leaf_that_sags_is_looked_at_before_anybody_lifts_it() -> None:
    """What keeps it from falling may have failed (EN 12604, as restated publicly)."""
    cause = knowledge().causes["photo_eye_own_leaf"]
    assert "hinges" in cause.remedy.steps[0] and "can fall" in cause.remedy.steps[0]
    assert "re-hang" not in told(cause) and "manual_release" in cause.remedy.cautions


def test_a_pair_moved_clear_of_the_leaf_leaves_no_room_for_a_person() -> None:
    assert "no further from the leaf" in told(knowledge().causes["photo_eye_own_leaf"])


@pytest.mark.parametrize("rule", ["eye_hit_is_not_for_people", "eye_stop_eye_is_not_for_people"])
def test_what_protects_people_is_cited_from_the_standard_on_protection(rule: str) -> None:
    """IEC 60947-5-2 is about proximity switches and says nothing on people at gates."""
    assert knowledge().rules[rule].source == "en_12978"


def test_after_a_surge_every_protective_device_is_proved() -> None:
    assert set(knowledge().causes["loop_lightning"].remedy.touches) >= PROTECTION | {"edge"}


def test_nobody_steps_on_a_cover_that_rocks_or_lifts_it() -> None:
    kb = knowledge()
    cause, check = kb.causes["loop_loose_metal"], kb.checks["lop_press_test"]
    for says in (cause.test, cause.proof, check.help):
        assert "pole" in says and "by foot" not in says and "with a foot" not in says and "stepped on" not in says
    assert "never step on" in told(cause) and "owner" in told(cause)


def test_a_new_slot_is_cut_by_somebody_who_is_warned() -> None:
    cut = [c for c in knowledge().causes.values() if re.search(r"(cut|lay) a new loop|new slot", told(c))]
    assert len(cut) >= 8
    assert [c.id for c in cut if not {"buried_services", "road_saw"} <= set(c.remedy.cautions)] == []


def test_a_shorter_holding_loop_leaves_the_closing_line_open() -> None:
    cause = knowledge().causes["loop_sees_leaf"]
    assert "no longer covers the closing line" in told(cause)
    assert {"protective_zone", "activation_zone"} <= set(cause.remedy.touches)


def test_a_lead_in_beside_a_drive_cable_is_pulled_by_nobody_without_a_licence_to_isolate() -> None:
    cause = knowledge().causes["loop_lead_in_noise"]
    assert "licensed" in cause.remedy.steps[0] and "mains_licensed" in cause.remedy.cautions


@pytest.mark.parametrize("check", ["lop_own_channel", "lop_mode_setting", "lop_hold_min"])
def test_nobody_sits_in_the_car_that_is_parked_before_a_gate(check: str) -> None:
    assert "no_body_test" in knowledge().checks[check].cautions


def test_the_lamp_of_a_loop_is_read_where_it_is() -> None:
    assert knowledge().checks["lop_leaf_test"].access == "controller_cabinet"


def test_the_short_side_follows_from_two_thirds() -> None:
    """The field reaches two thirds of the short side, so the side is 1.5 times the floor's height, not twice."""
    number = re.search(r"At least ([\d.]+) times", knowledge().checks["lop_short_side"].good)
    assert number and detection_height_m(float(number[1])) == pytest.approx(1.0)


def test_an_infra_red_eye_is_not_called_a_laser() -> None:
    """The caution stands at looks that all optical devices share; it says itself whom it is for."""
    assert "infra-red photo-eye has no laser" in knowledge().cautions["laser_class"].says


def test_a_loop_that_restarts_sees_nothing_meanwhile() -> None:
    assert "held open or out of automatic" in knowledge().checks["lop_reset"].help
