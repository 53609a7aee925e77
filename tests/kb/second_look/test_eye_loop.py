"""Photo-eyes and loops, held to what a master of the trade asked for who read every entry of theirs.

Source of what is asked: common practice where no standard or formula is named.
"""

import re

import pytest

from diagnose.calc.loops import detection_height_m, lead_in_inductance_uh, loop_inductance_uh
from diagnose.model.knowledge import Cause
from diagnose.model.visit import Value
from tests.kb.test_dangerous import concluded
from tests.shipped import knowledge

NEW_HEAD = re.compile(r"(?i)\b(photo-eye with|photo-eye head|transmitter|receiver|polarised eye|second pair)\b")
PROTECTION = {"protective_zone", "test_input"}


def told(cause: Cause) -> str:
    return " ".join(cause.remedy.steps).casefold()


def eye_causes_with_a_new_head() -> list[str]:
    causes = knowledge().causes
    return [c for c in causes if c.startswith("photo_eye_") and NEW_HEAD.search(" ".join(causes[c].remedy.parts))]


def test_a_new_or_exchanged_head_owes_the_beam_and_the_monitored_test() -> None:
    """Heads exchanged against the sun once owed no proof of the test that switches the transmitter."""
    renewed = [*eye_causes_with_a_new_head(), "photo_eye_low_sun"]
    assert len(renewed) >= 6
    assert [c for c in renewed if not set(knowledge().causes[c].remedy.touches) >= PROTECTION] == []


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
    assert "Gate out of automatic from before the reset" in knowledge().checks["lop_reset"].help


STOPS = [
    ({"eye_midway_board": "stays_clear"}, "photo_eye_beam_bypass"),
    ({"eye_job": "stops_closing", "eye_cover_test": "slow"}, "photo_eye_delay_set"),
    ({"eye_job": "both", "eye_mode_switch": "delay_set"}, "photo_eye_delay_set"),
    ({"eye_job": "stops_closing", "eye_mode_switch": "wrong_function"}, "photo_eye_bus_function_wrong"),
    ({"lop_job": "holds_open", "lop_missed_kind": "gap"}, "loop_drawbar_gap"),
    ({"lop_job": "holds_open", "lop_missed_kind": "beyond"}, "loop_line_uncovered"),
    ({"lop_job": "holds_open", "lop_mode_setting": "pulse_leaving"}, ""),
    ({"lop_job": "holds_open", "lop_own_channel": "none"}, ""),
    ({"lop_job": "holds_open", "lop_fault_output": "reads_free", "lamp_clear": "off"}, "loop_fault_reads_free"),
]


@pytest.mark.parametrize(("answers", "cause"), STOPS)
def test_what_a_stop_device_does_not_see_stops_work(answers: dict[str, Value], cause: str) -> None:
    found = concluded(answers, "hits_vehicle")
    assert "stop_protection_lost" in found.stop_work
    assert not cause or cause in [c for c, _ in found.belief.ranked()[:3]]


@pytest.mark.parametrize(
    "answers",
    [{"eye_midway_board": "breaks"}, {"eye_job": "opens", "eye_cover_test": "slow"},
     {"lop_job": "opens", "lop_missed_kind": "gap"}],
)  # fmt: skip
def test_what_cannot_close_on_anybody_stops_nothing(answers: dict[str, Value]) -> None:
    assert concluded(answers).stop_work == ()


@pytest.mark.parametrize(("gap_m", "warned"), [(0.05, False), (0.20, False), (0.25, True), (0.60, True)])
def test_a_gap_that_hides_the_test_body_is_said(gap_m: float, warned: bool) -> None:
    """EN 12453, as restated publicly: the body held into a beam is 700 x 300 x 200 mm."""
    found = concluded({"eye_job": "stops_closing", "eye_leaf_gap": gap_m}, "hits_vehicle")
    assert ("prove_after" in found.after.cautions) is warned
    assert (found.belief.ranked()[0][0] == "photo_eye_far_from_leaf") is warned


def test_the_quick_pass_is_a_slim_person_at_walking_pace() -> None:
    """ISO 13855 (2010): a person comes at 1.6 m/s, so many seconds is the card's width in the beam."""
    kb = knowledge()
    width = re.search(r"card ([\d.]+) m wide", kb.checks["eye_cover_test"].help)
    assert width and float(width[1]) / 1.6 == pytest.approx(1 / 8)
    assert "an eighth of a second" in kb.causes["photo_eye_delay_set"].explain


def test_a_long_lead_in_takes_half_of_what_a_small_loop_changes() -> None:
    """4 turns of 6 m against 100 m of lead-in, both by the rules of the handbook."""
    loop, lead = loop_inductance_uh(6, 4), lead_in_inductance_uh(100)
    assert loop / (loop + lead) == pytest.approx(0.5, abs=0.1)
    assert ("lop_lead_in_verdict", "above") in concluded({"lop_lead_in": 130.0}).after.facts
    assert ("lop_lead_in_verdict", "inside") in concluded({"lop_lead_in": 30.0}).after.facts


def test_of_two_loops_the_way_with_more_inductance_is_right() -> None:
    """Twice the turns in one slot, by the rule of thumb; joined the wrong way they take each other's field away."""
    says = knowledge().causes["loop_series_opposed"].test
    assert loop_inductance_uh(6, 6) / loop_inductance_uh(6, 3) == pytest.approx(4, abs=0.6)
    assert "about four times" in says and "higher inductance is the right one" in says


@pytest.mark.parametrize("kind", ["through_beam", "reflector"])
def test_wired_heads_have_no_cells(kind: str) -> None:
    gone = concluded({"eye_kind": kind}).after.excluded
    assert {"photo_eye_cells_flat", "photo_eye_solar_shaded", "photo_eye_pairing_lost"} <= set(gone)


def test_a_head_without_a_cable_has_no_feed_to_lose() -> None:
    assert "transmitter_feed_lost" in set(concluded({"eye_kind": "cable_free"}).after.excluded)


def test_a_socket_wired_for_another_detector_is_an_electricians() -> None:
    """Mains may be on its pins (EN 50110-1)."""
    cause = knowledge().causes["loop_detector_pins"]
    assert cause.remedy.who == "electrician" and "leave it out" in cause.remedy.steps[0]
    assert set(cause.remedy.touches) >= PROTECTION


def test_nobody_cuts_over_a_heating_mat() -> None:
    cause = knowledge().causes["loop_buried_power"]
    assert "never cut" in told(cause) and {"buried_services", "road_saw", "mains_licensed"} <= set(
        cause.remedy.cautions
    )


def test_no_new_remedy_hides_a_nuisance_in_a_protective_function() -> None:
    kb = knowledge()
    assert "never cure it by a delay" in told(kb.causes["photo_eye_beam_bypass"])
    assert "holding inputs are never inhibited" in told(kb.causes["loop_exit_passed_inside"])
    assert "never covers a trailer that stops" in told(kb.causes["loop_drawbar_gap"])


@pytest.mark.parametrize(("check", "safest"), [("eye_job", "stops"), ("lop_job", "keeps the gate from closing")])
def test_a_job_that_nobody_knows_is_answered_as_the_protective_one(check: str, safest: str) -> None:
    """'Cannot check' would leave every rule silent that stops work for a protective device."""
    assert re.search(rf"take .*{safest}", knowledge().checks[check].bad)


def test_wires_are_followed_with_the_meter_only_after_ac_was_looked_for() -> None:
    assert "sup_ac_source" in knowledge().checks["eye_wiring_order"].needs


@pytest.mark.parametrize("cause", ["loop_detector_dead", "loop_lightning"])
def test_a_detector_socket_with_mains_is_left_to_an_electrician(cause: str) -> None:
    """Many plug-in detectors are fed with mains (EN 50110-1)."""
    entry = knowledge().causes[cause]
    assert "electrician" in told(entry) and "pin layout" in told(entry)
    assert "mains_licensed" in entry.remedy.cautions


@pytest.mark.parametrize("cause", ["loop_splice_high_resistance", "loop_series_opposed"])
def test_a_pit_in_the_lane_is_opened_with_the_lane_closed(cause: str) -> None:
    assert "before you reach in" in told(knowledge().causes[cause])
    assert "lane_closed" in knowledge().causes[cause].remedy.cautions
    assert "lane_closed" in knowledge().checks["lop_wiggle"].cautions
