"""How people use the site, the first looks and what all subjects share, read a second time as a master would.

Source of what is asked: common practice where no standard is named.
"""

import re
from collections.abc import Mapping

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.rules import consequences, fixpoint
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

READ = Reasoner(at_face_value(knowledge()))
MOVED_BY_DRIVERS = ("use_stop_gap", "use_follow_gap", "use_approach_time")
PROTECTION = {"protective_zone", "test_input", "edge"}


def concluded(
    answers: Mapping[str, Value], profile: Mapping[str, Value] | None = None, complaint: str = "intermittent"
) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return READ.conclude(Setup(electrician=True, profile=profile or {}), complaint, given)


def steps(cause: str) -> str:
    return " ".join(knowledge().causes[cause].remedy.steps)


@pytest.mark.parametrize("check", MOVED_BY_DRIVERS)
def test_traffic_is_measured_from_beside_the_lane(check: str) -> None:
    """Cars that come while one measures are traffic: no tape between a bumper and the gate."""
    entry = knowledge().checks[check]
    assert "lane_closed" in entry.cautions
    assert re.search(r"(beside the lane|behind the kerb)", entry.help)


def test_nobody_walks_between_a_waiting_car_and_the_gate() -> None:
    assert "Nobody walks" in knowledge().checks["use_stop_gap"].help
    assert "Nobody walks" in knowledge().causes["drivers_stop_short"].test


@pytest.mark.parametrize("cause", ["drivers_stop_short", "drivers_too_fast_or_close", "deliveries_park_in_area"])
def test_no_stop_line_or_bay_lies_where_the_leaf_sweeps(cause: str) -> None:
    """A swing leaf reaches out into the lane; a car that stops there is hit."""
    assert re.search(r"outside (that|the reach of leaf or arm)", steps(cause))


def test_no_cover_is_hung_over_a_protective_sensor() -> None:
    """A cover that is forgotten takes the protection away; the gate stands still while they clean."""
    cause = knowledge().causes["site_cleaning_habits"]
    assert "Nobody hangs a cover" in steps(cause.id) and "out of automatic" in steps(cause.id)
    assert "protective_zone" in cause.remedy.touches and cause.remedy.access == "sensor_cover"


def test_no_vehicle_stands_in_the_travel_to_try_a_time_out() -> None:
    cause = knowledge().causes["deliveries_park_in_area"]
    assert "gate held open" in cause.proof and "in the travel itself a test piece" in cause.proof
    assert "no_body_test" in cause.remedy.cautions


def test_a_gate_that_walkers_use_protects_people_or_leaves_automatic() -> None:
    """EN 12453, as restated publicly: where people walk, presence or force protects them, not a sign or a plan."""
    cause = knowledge().causes["walkers_use_vehicle_lane"]
    assert set(cause.remedy.touches) >= {"protective_zone", "edge", "mechanics"}
    assert "out of automatic" in steps(cause.id) and "force_gauge" in cause.remedy.tools
    assert "written plan" not in cause.proof


def test_nothing_is_called_as_designed_before_its_protection_is_proved() -> None:
    cause = knowledge().causes[knowledge().settings.designed_cause]
    assert "Prove the protective functions" in cause.remedy.steps[0]
    assert "protective_zone" in cause.remedy.touches


@pytest.mark.parametrize(
    ("profile", "answers"), [({"site.mount_height_m": 3.2}, {}), ({}, {"las_window_height": 3.2})]
)
def test_a_head_above_reach_brings_the_ladder_caution(profile: dict[str, Value], answers: dict[str, Value]) -> None:
    """The working height follows from where the device hangs; hands reach about 2 m from the ground."""
    assert set(concluded(answers, profile).after.cautions) >= {"ladder", "lane_closed"}


@pytest.mark.parametrize("height", [0.44, 1.9])
def test_a_head_within_reach_brings_no_ladder(height: float) -> None:
    assert "ladder" not in concluded({}, {"site.mount_height_m": height}).after.cautions


def test_whoever_goes_up_has_a_gate_that_stands_and_nobody_below() -> None:
    kb = knowledge()
    says = kb.cautions["ladder"].says.casefold()
    assert all(w in says for w in ("locked off", "below", "wind", "ice", "lightning", "overhead lines"))
    assert {"ladder", "lane_closed", "moving_gate", "remotes_kept"} <= set(kb.access["up_the_post"].cautions)


def test_a_drive_housing_is_taken_for_one_with_mains_in_it() -> None:
    """Motor, capacitor and their terminals are in there at many drives."""
    assert "mains_inside" in knowledge().access["operator_housing"].cautions


def test_low_sun_is_a_danger_of_its_own() -> None:
    kb = knowledge()
    assert "Never look into the sun" in kb.cautions["low_sun"].says
    assert "low sun" in kb.cautions["lane_closed"].says
    assert any("Low sun" in line for line in kb.complaints["time_of_day"].meanwhile)


def test_a_leaf_that_leans_is_not_safe_to_leave() -> None:
    """EN 12604, as restated publicly: what keeps a leaf from falling is looked at before it is moved."""
    kb = knowledge()
    safe = kb.checks["gate_made_safe"]
    assert "leans" in safe.help and "leans" in safe.caller_options["not_safe"]
    assert "Never run a leaf that leans" in kb.checks["manual_command"].bad


def test_the_first_question_is_one_question() -> None:
    for text in (knowledge().checks["anyone_touched"].ask, knowledge().checks["anyone_touched"].ask_caller):
        assert text.count("?") == 1


def test_no_caller_waits_for_a_car_at_a_gate_that_was_put_out_of_use() -> None:
    look = knowledge().checks["lamp_vehicle"]
    said = look.ask_caller.casefold()
    assert "next car" not in said and "out of use" in said and "send no car" in said


def test_switched_off_is_not_called_unable_to_move() -> None:
    """An arm under its spring and a gate on a slope move without their motor."""
    said = " ".join(knowledge().complaints["stuck_open"].meanwhile)
    assert "cannot shut by itself" not in said and "slope" in said


@pytest.mark.parametrize(
    ("check", "value"),
    [
        ("use_set_aside", "turned"),
        ("use_set_aside", "linked"),
        ("use_set_aside", "timer_in_line"),
        ("use_round_look", "bars_open"),
        ("use_round_look", "switch_out_of_view"),
    ],
)
def test_protection_that_is_set_aside_or_missing_stops_work(check: str, value: str) -> None:
    """UL 325 (open bars) and EN 12453 (hold-to-run in view of the travel), as restated publicly."""
    assert "stop_protection_lost" in concluded({check: value}).stop_work


@pytest.mark.parametrize(("check", "value"), [("use_set_aside", "in_place"), ("use_round_look", "reachable")])
def test_what_takes_no_protection_away_stops_nothing(check: str, value: str) -> None:
    assert concluded({check: value}).stop_work == ()


@pytest.mark.parametrize("value", ["night_lock", "one_way", "counted_full", "part_open"])
def test_an_agreed_function_leads_to_its_own_explanation(value: str) -> None:
    """It is not 'as designed' at large: the customer is told which function it was, and who may change it."""
    leader = concluded({"use_agreed_function": value}, complaint="will_not_open").belief.ranked()[0][0]
    assert value in knowledge().causes[leader].signs["use_agreed_function"]


def test_people_can_always_get_out_of_what_is_locked_on_purpose() -> None:
    """Common practice and local fire codes: an escape way needs no key and no sensor."""
    assert "get out at any hour" in steps("night_lock_agreed")
    assert "never blocks the way out" in steps("car_park_counted_full")
    assert "Leave the function as it is" in steps("fault_opens_on_purpose")


@pytest.mark.parametrize("cause", ["animals_in_radar_field", "herd_at_farm_gate", "robot_mower_crosses"])
def test_no_protective_field_shrinks_for_an_animal_or_a_machine(cause: str) -> None:
    """What protects a child is not made blind to an animal of its size."""
    assert re.search(r"(protective (zone|field).{0,25}(stays )?as it is|keeps its field)", steps(cause))
    assert "protective_zone" in knowledge().causes[cause].remedy.touches


def test_a_tied_leaf_is_locked_off_before_it_is_set_free() -> None:
    remedy = knowledge().causes["gate_propped_or_tied"].remedy
    assert {"lock_off", "stored_motion"} <= set(remedy.cautions)
    text = " ".join(remedy.steps)
    assert text.index("lock off") < text.index("end stops") < text.index("Take it away")


def test_the_distance_of_another_sensor_is_worked_out() -> None:
    """The sum of times of ISO 13855, times the speeds of leaf and walker, plus what its papers add."""
    cause = knowledge().causes["replacement_of_another_kind"]
    assert "(leaf speed + 1.6 m/s of a walker) x (sensor + controller + stopping time)" in steps(cause.id)
    assert "larger than the one worked out" in cause.proof


def test_low_sun_weather_and_a_radar_bring_what_the_work_there_needs() -> None:
    """The sun is in people's eyes too; nobody goes up in the wind that shakes a head; a radar hangs above reach."""
    assert "low_sun" in concluded({"when_it_happens": "low_sun"}).after.cautions
    assert "storm" in concluded({"when_it_happens": "wind"}).after.cautions
    radar = READ.conclude(Setup(devices=("radar",)), "ghost_opening", [])
    assert {"ladder", "lane_closed"} <= set(radar.after.cautions)
    loop = READ.conclude(Setup(devices=("loop",)), "ghost_opening", [])
    assert "ladder" not in loop.after.cautions


@pytest.mark.parametrize("answer", ["clear", "drops"])
def test_a_covered_sensor_that_misses_a_vehicle_stops_work(answer: str) -> None:
    """UL 325, as restated publicly: a protective device that is out of action takes the gate out of automatic."""
    assert "stop_protection_lost" in concluded({"env_window_look": "covered", "lamp_vehicle": answer}).stop_work
    assert concluded({"env_window_look": "film", "lamp_vehicle": "detecting"}).stop_work == ()


def test_every_repair_owes_every_protective_proof_that_the_gate_can_have() -> None:
    """After a surge, a board or a supply was changed too: none of them is left out because a remedy forgot it."""
    kb = knowledge()
    protective = {p.id for p in kb.proofs.values() if p.protective} - {"bridges"}
    assert protective >= PROTECTION
    assert all({"stop_work", "repair"} <= set(kb.proofs[p].after) for p in protective)


def test_a_caller_keeps_children_and_pets_away_before_hands_come_near() -> None:
    kb = knowledge()
    assert all(w in kb.cautions["caller_hands_first"].says for w in ("Children", "pets"))
    assert "pets" in kb.cautions["remotes_kept"].says and "private house" in kb.cautions["remotes_kept"].says


def test_children_at_the_gate_are_a_near_miss() -> None:
    """EN 12453, as restated publicly: every gap that a child reaches is protected, or the gate leaves automatic."""
    assert "stop_contact" in concluded({"use_watch_site": "plays"}).stop_work
    cause = knowledge().causes["children_ride_on_gate"]
    assert set(cause.remedy.touches) >= {"edge", "mechanics", "protective_zone"}
    text = steps(cause.id)
    assert text.index("locked off") < text.index("end stops") < text.index("Prove edge")


@pytest.mark.parametrize("fact", [{"mount_height_verdict": "above"}, {"las_mounting": "overhead"}])
def test_no_caller_looks_closely_at_a_head_that_hangs_high(fact: dict[str, str]) -> None:
    """Common practice, no source: a caller stays on the ground, where a window above two metres is not seen."""
    low = {"mount_height_verdict": "within", "las_mounting": "level"}
    assert unasked(role="help_desk", **fact) == CLOSE
    assert unasked(role="technician", **fact) == unasked(role="help_desk", **low) == set()


CLOSE = {"env_window_look", "env_masking_left", "las_cover_seated", "las_housing_look"}


def unasked(**facts: str) -> set[str]:
    """Of the close looks those that the rules take away where these facts are so."""
    settled = consequences(knowledge(), *fixpoint(knowledge(), [*facts.items()])).settled
    return {check for check in CLOSE if settled.get(check, ("",))[0] == "skip"}
