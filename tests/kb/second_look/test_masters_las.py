"""The scanning laser sensor and the shared chain, read as a master who has to sign: held to what he mended.

Each test stands for an entry that would have hurt somebody, sent him wrong or left a proof out.
"""

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
OUT = "out of automatic"
STOP = "stop_protection_lost"


def concluded(complaint: str = "intermittent", *, gate: str = "", **answers: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    profile: dict[str, Value] = {"site.gate_type": gate} if gate else {}
    return READ.conclude(Setup(devices=("laser",), electrician=True, profile=profile), complaint, given)


def share(found: Conclusion, cause: str) -> float:
    return dict(found.belief.ranked()).get(cause, 0.0)


def first_step(cause: str, *words: str) -> int:
    """The first step that says one of the words."""
    steps = [step.casefold() for step in knowledge().causes[cause].remedy.steps]
    return next(i for i, step in enumerate(steps) if any(word in step for word in words))


def rechecked(rule: str) -> tuple[str, ...]:
    found = knowledge().rules[rule].then.contradiction
    return tuple(found.recheck) if found else ()


BEFORE_THE_WORK = {
    "cover_not_shut": "isolate, open",
    "cable_entry_open": "isolate, open",
    "pressure_membrane_blocked": "replace the sensor",
    "mounting_shakes_with_drive": "move the sensor",
    "banner_loads_bracket": "check level",
    "zone_too_small": "extend the opening zone",
    "zone_too_large": "draw the opening zone in",
    "object_filter_too_fine": "sweep leaves",
    "size_classes_mix_up": "set the limits",
    "use_place_in_protective_field": "move keypad",
}


@pytest.mark.parametrize("cause", BEFORE_THE_WORK)
def test_the_gate_is_out_of_automatic_before_the_sensor_is_worked_at(cause: str) -> None:
    assert first_step(cause, OUT) < first_step(cause, BEFORE_THE_WORK[cause])


def test_a_spring_is_let_down_before_its_arm_comes_off() -> None:
    assert first_step("arm_sags_into_scan", "spring") < first_step("arm_sags_into_scan", "replace the sagging arm")


def test_a_gate_of_another_kind_may_have_an_arm_that_sags() -> None:
    assert share(concluded("stuck_open", gate="other"), "arm_sags_into_scan") > 0
    assert share(concluded("stuck_open", gate="sliding"), "arm_sags_into_scan") == 0


LOCKED = {
    "mounting_shakes_with_drive": "before you touch",
    "leaf_scan_off_leaf": "bring the plane back",
    "hinge_side_unwatched": "fit a finger guard",
}


@pytest.mark.parametrize("cause", LOCKED)
def test_nobody_works_at_a_drive_or_leaf_that_can_start(cause: str) -> None:
    assert first_step(cause, "lock it off", "lock the drive off") <= first_step(cause, LOCKED[cause])
    assert "lock_off" in knowledge().causes[cause].remedy.cautions


def test_a_masked_line_stays_out_of_automatic_until_something_watches_it() -> None:
    """A plan to fit an edge one day protects nobody."""
    steps = knowledge().causes["travel_not_masked"].remedy.steps
    assert any(OUT in step and "fitted and proved" in step for step in steps)


def test_a_load_that_is_not_seen_is_closed_on_the_first_time_too() -> None:
    assert "often" not in knowledge().causes["clear_load_missed"].remedy.steps[0]


ADDS_A_DEVICE = [
    "protective_zone_short",
    "threshold_strip_gap",
    "travel_not_masked",
    "clear_load_missed",
    "long_tail_outside_zone",
    "hinge_side_unwatched",
    "leaf_scan_off_leaf",
    "floor_margin_too_high",
]


@pytest.mark.parametrize("cause", ADDS_A_DEVICE)
def test_a_protective_device_that_is_added_owes_its_monitored_test(cause: str) -> None:
    assert "test_input" in knowledge().causes[cause].remedy.touches


@pytest.mark.parametrize("cause", ["firmware_hangs", "trailer_gap_drop", "zone_too_small"])
def test_a_sensor_that_is_moved_or_exchanged_owes_its_aim(cause: str) -> None:
    assert {"bracket", "protective_zone"} <= set(knowledge().causes[cause].remedy.touches)


@pytest.mark.parametrize("cause", ["leaf_scan_off_leaf", "leaf_scan_meets_leaf"])
def test_a_leaf_that_is_mended_owes_its_travel(cause: str) -> None:
    assert "mechanics" in knowledge().causes[cause].remedy.touches


def test_a_field_cut_down_to_a_stripe_is_found_and_proved_from_the_side() -> None:
    """The end of the line is seen all the same, so a test along the line alone passes."""
    entry = knowledge().causes["protective_zone_short"]
    assert "from either side" in entry.test
    assert "from each side" in entry.proof


def test_only_a_filter_really_at_its_finest_cannot_be_too_coarse() -> None:
    """A value that was once proved for vehicles may be too coarse for a person."""
    assert share(concluded("hits_vehicle", las_filter_setting="finest"), "object_filter_too_coarse") == 0
    assert share(concluded("hits_vehicle", las_filter_setting="as_proved"), "object_filter_too_coarse") > 0


@pytest.mark.parametrize("filters", ["raised", "direction", "slow"])
def test_a_filter_that_may_leave_out_a_person_wants_proof(filters: str) -> None:
    assert "no_body_test" in concluded(las_filter_setting=filters).after.cautions


def test_a_bearing_on_a_mounting_that_shakes_wears_within_two_years() -> None:
    """The entry says so itself."""
    young = concluded("abnormal_indicator", las_service_years="under_2")
    assert share(young, "scanner_motor_worn") > 0
    assert share(young, "laser_emitter_aged") == 0


def test_a_post_of_its_own_that_shakes_is_asked_about_again() -> None:
    found = concluded(las_shared_mount="own_post", las_post_tremble="shakes")
    asked = {check for rule in found.after.contradictions for check in rechecked(rule)}
    assert {"las_shared_mount", "las_post_tremble"} <= asked


@pytest.mark.parametrize(
    ("check", "answer"),
    [
        ("las_push_test", "slips"),
        ("las_bracket_marks", "not_locked"),
        ("las_sits_straight", "hanging"),
        ("las_post_look", "leaning"),
        ("las_mount_side", "differs"),
        ("las_zone_walk", "hole"),
        ("las_zone_map", "mirrored"),
        ("las_mask_test", "fault_shown"),
        ("las_restart", "fault_stays"),
    ],
)
def test_a_sensor_that_is_no_longer_as_it_was_proved_wants_proof(check: str, answer: str) -> None:
    assert "prove_after" in concluded(**{check: answer}).after.cautions


@pytest.mark.parametrize("kind", ["long_tails", "see_through"])
def test_what_is_missed_for_its_shape_is_not_missed_for_its_colour(kind: str) -> None:
    assert concluded("misses_vehicles", las_which_missed=kind).values["env_dark_missed_kind"] == "no"


def test_people_and_cars_that_pass_are_one_answer_with_the_weight_of_cars() -> None:
    both, road = (concluded("ghost_opening", las_passers_by=a) for a in ("both", "road"))
    assert share(both, "zone_too_large") == pytest.approx(share(road, "zone_too_large"))


def test_a_body_that_cannot_be_told_from_a_held_lamp_says_nothing() -> None:
    assert STOP not in concluded(las_low_piece="detects_anyway").stop_work
    assert STOP in concluded(las_low_piece="missed").stop_work


def test_a_caller_need_not_know_what_another_device_protects() -> None:
    """Whoever does not know gives the answer that stops the gate."""
    said = knowledge().checks["las_trailer_test"].caller_options
    assert "nobody knows" in said["drops_at_gap"]
    assert "technician said" in said["drops_opening_only"]


@pytest.mark.parametrize("check", ["las_spare_swap", "las_push_test", "las_level_housing", "las_cable_entries"])
def test_a_sensor_above_reach_is_worked_at_with_the_ladder_in_mind(check: str) -> None:
    assert "ladder" in knowledge().checks[check].cautions


def test_a_dark_sensor_leaves_the_closing_line_unwatched() -> None:
    shown = knowledge().effects["device_dark"].shows
    assert "nothing_reacts" in shown["las_protective_reach"]
    assert "some_silent" in shown["las_planes_react"]
    assert "not_at_all" in shown["rad_slow_test"]


def test_far_too_little_voltage_can_leave_a_device_dark() -> None:
    shown = knowledge().effects["volts_low"].shows
    assert "off" in shown["power_lamp"]
    assert "keeps_restarting" in shown["las_restart"]


def test_a_protective_input_read_the_wrong_way_closes_on_a_vehicle() -> None:
    assert "hits_vehicle" in knowledge().effects["input_opposite"].complaints
