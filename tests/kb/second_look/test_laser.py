"""Entries on scanning laser sensors that a master of the trade would not have signed: held to what he asked for.

Numbers are worked out here from the geometry that is named; ids of entries are named, never cases.
"""

from collections.abc import Mapping
from functools import cache
from math import radians, tan

import pytest

from diagnose.core.facts import run_calculation
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

LEG_M = 0.05  # a child's leg, and the thin one of the two rigid bodies that gates are tested with
BODY_NARROW_M = 0.20  # narrow side of the other one, 0.70 x 0.30 x 0.20 m (EN 12453, as restated publicly)
STOP = "stop_protection_lost"


@cache
def face_value() -> Reasoner:
    """What the entries themselves say, before tempering."""
    return Reasoner(at_face_value(knowledge()))


def concluded(answers: Mapping[str, Value], complaint: str = "intermittent", **profile: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    setup = Setup(devices=("laser",), electrician=True, profile={k.replace("__", "."): v for k, v in profile.items()})
    return face_value().conclude(setup, complaint, given)


def share(found: Conclusion, cause: str) -> float:
    return dict(found.belief.ranked()).get(cause, 0.0)


def verdict(calculation: str, **values: Value) -> str:
    outcome = run_calculation(
        knowledge().calculations[calculation], {k.replace("__", "."): v for k, v in values.items()}
    )
    assert outcome
    return outcome.word


def test_a_leg_that_fits_into_the_strip_is_above_the_limit() -> None:
    """A strip passes only where the thinnest test body cannot stand in it unseen for longer than one step."""
    assert verdict("las_strip_verdict", las_strip=LEG_M) == "above"
    assert verdict("las_strip_verdict", las_strip=0.0) == "inside"
    assert f"{LEG_M * 100:.0f} cm thick" in knowledge().checks["las_strip"].help


@pytest.mark.parametrize("cause", ["threshold_strip_gap", "travel_not_masked"])
def test_what_is_masked_for_the_travel_is_covered_by_another_device(cause: str) -> None:
    """A masked travel leaves the closing line unwatched, so the edge that covers it is owed its proof too."""
    entry = knowledge().causes[cause]
    assert {"protective_zone", "edge"} <= set(entry.remedy.touches)
    assert "edge" in " ".join(entry.remedy.steps)


def test_what_protects_people_is_tested_by_the_narrow_side_of_a_body() -> None:
    assert verdict("las_small_verdict", las_small_piece=BODY_NARROW_M) == "inside"
    assert verdict("las_small_verdict", las_small_piece=0.30) == "above"


def test_a_hold_that_does_not_bridge_a_gap_at_walking_pace_is_short() -> None:
    """Gap over speed: 1.5 m at 1 m/s, the figure of trailer_gap_drop itself."""
    gap_m, walking_m_s = 1.5, 1.0
    assert verdict("las_release_verdict", las_release=gap_m / walking_m_s - 0.1) == "below"
    assert verdict("las_release_verdict", las_release=gap_m / walking_m_s) == "inside"


@pytest.mark.parametrize(
    "answers",
    [
        {"las_planes_fitted": 3.0, "las_planes_react": 2.0},
        {"las_stay_wanted": 300.0, "las_stay": 60.0},
        {"las_small_piece": 0.4},
    ],
)
def test_a_sensor_that_protects_and_misses_orders_stop(answers: Mapping[str, Value]) -> None:
    assert STOP in concluded({**answers, "las_mask_test": "detects"}).stop_work
    assert STOP not in concluded({**answers, "las_mask_test": "detects_opening_sensor"}).stop_work


def test_a_gap_at_an_opening_sensor_does_not_stop_the_site() -> None:
    """It is seen all the same: both answers show the finding that a gap shows."""
    lost, opening = (concluded({"las_trailer_test": a}) for a in ("drops_at_gap", "drops_opening_only"))
    assert STOP in lost.stop_work
    assert STOP not in opening.stop_work
    assert share(opening, "trailer_gap_drop") == pytest.approx(share(lost, "trailer_gap_drop"))


@pytest.mark.parametrize("check", ["las_trailer_test", "las_passers_by"])
def test_watching_ordinary_traffic_waits_while_work_is_stopped(check: str) -> None:
    assert knowledge().checks[check].runs_gate


def test_a_sensor_overhead_is_not_blamed_for_a_level_scans_height() -> None:
    """4 m is right where its papers say so; the band from bumpers to draw-bars is a level scan's."""
    for answers in ({"las_window_height": 4.0}, {"las_mounting": "overhead"}, {"las_mounting": "tilted"}):
        found = concluded(answers, "misses_vehicles")
        assert share(found, "sensor_too_low") == 0
        assert share(found, "sensor_too_high") == 0
    level = concluded({"las_mounting": "level", "las_window_height": 0.8}, "misses_vehicles")
    assert share(level, "sensor_too_high") > 0


def test_limits_of_height_come_from_the_profile() -> None:
    papers = {"device__mount_low_m": 0.6, "device__mount_high_m": 0.9}
    assert verdict("las_height_verdict", las_window_height=0.7) == "above"
    assert verdict("las_height_verdict", las_window_height=0.7, **papers) == "inside"
    assert verdict("las_height_verdict", las_window_height=0.4, **papers) == "below"


def test_tilt_is_told_by_the_tangent() -> None:
    assert f"{100 * tan(radians(1)):.1f} cm for each metre" in knowledge().causes["scan_tilted"].explain
    assert f"{100 * 4 * tan(radians(1)):.0f} cm on the ground" in knowledge().causes["scan_tilted"].explain


OUT_FIRST = [
    "sensor_internal_failure",
    "scan_plane_lost",
    "firmware_hangs",
    "board_corroded",
    "settings_lost_after_replacement",
    "wrong_variant_fitted",
    "bracket_bent_or_post_knocked",
    "object_there_at_teach",
    "side_setting_wrong",
    "zone_origin_shifted",
    "presence_timeout",
]


@pytest.mark.parametrize("cause", OUT_FIRST)
def test_a_sensor_that_may_not_protect_comes_out_of_automatic_first(cause: str) -> None:
    assert "out of automatic" in knowledge().causes[cause].remedy.steps[0].casefold()


def test_a_sensor_that_may_freeze_is_not_trusted_while_its_proof_runs() -> None:
    """Its proof takes days: until then hold-to-run, or another device that was proved."""
    assert "hold-to-run" in knowledge().causes["firmware_hangs"].proof


@pytest.mark.parametrize("cause", ["cover_not_shut", "cable_entry_open", "board_corroded"])
def test_water_on_the_board_owes_the_protective_proof(cause: str) -> None:
    assert {"protective_zone", "test_input", "supply", "wet"} <= set(knowledge().causes[cause].remedy.touches)


def test_nothing_is_done_at_an_arm_or_leaf_that_can_start_or_fall() -> None:
    causes = knowledge().causes
    assert "lock_off" in causes["arm_sags_into_scan"].remedy.cautions
    assert "manual_release" in causes["leaf_part_cuts_scan"].remedy.cautions
    assert "end stops" in causes["leaf_part_cuts_scan"].remedy.steps[0]


def test_a_joint_is_taken_apart_before_it_is_levelled() -> None:
    steps = knowledge().causes["bracket_not_locked"].remedy.steps
    apart = next(i for i, s in enumerate(steps) if "apart" in s)
    levelled = next(i for i, s in enumerate(steps) if "level" in s)
    assert apart < levelled


@pytest.mark.parametrize("check", ["las_part_clearance", "las_hand_travel"])
def test_how_the_sensor_stays_alive_with_the_drive_locked_off_is_said(check: str) -> None:
    """One isolator usually kills both, and then the lamp says nothing."""
    text = knowledge().checks[check].help
    assert "keeps its supply" in text
    assert "one isolator takes both" in text


SILENT = [
    ("las_low_piece", "missed"),
    ("las_settings_record", "service_mode"),
    ("las_protective_reach", "hinge_side_open"),
    ("las_protective_reach", "short_at_near_end"),
]


@pytest.mark.parametrize(("check", "answer"), SILENT)
def test_an_answer_that_shows_protection_missing_stops_work(check: str, answer: str) -> None:
    assert STOP in concluded({check: answer}).stop_work


def test_a_low_body_missed_by_a_sensor_that_only_opens_does_not_stop_the_site() -> None:
    assert STOP not in concluded({"las_low_piece": "missed_opening_only"}).stop_work


def test_the_body_that_lies_down_is_as_tall_as_its_narrow_side() -> None:
    assert f"{BODY_NARROW_M * 100:.0f} cm tall" in knowledge().checks["las_low_piece"].help


def test_the_lines_of_a_fan_part_by_distance_times_angle() -> None:
    """Half a degree between two lines, at the heights that the entries name."""
    half_degree = radians(0.5)
    kb = knowledge()
    for height, text in ((4, kb.checks["las_overhead_height"].help), (6, kb.checks["las_overhead_height"].help)):
        assert f"{1000 * height * half_degree:.0f} mm at {height} m" in text
    assert f"{1000 * 8 * half_degree:.0f} mm at 8 m" in kb.causes["overhead_above_rated_height"].explain


def test_what_the_leaf_goes_while_the_sensor_decides() -> None:
    """Way = speed x time: a leaf at 0.25 m/s and an arm's tip at 2 m/s, half a second more."""
    told = knowledge().causes["protective_response_too_long"].explain
    assert f"{100 * 0.25 * 0.5:.1f} cm" in told
    assert f"2 m/s goes {2 * 0.5:.0f} m" in told


NEVER_FINER = {
    "object_filter_too_fine": "Never set it coarser than that",
    "floor_margin_too_high": "below the 20 cm",
}


@pytest.mark.parametrize(("cause", "limit"), NEVER_FINER.items())
def test_a_nuisance_is_not_cured_at_the_cost_of_protection(cause: str, limit: str) -> None:
    entry = knowledge().causes[cause]
    assert limit in " ".join(entry.remedy.steps)
    assert "20 cm" in entry.proof
    assert "protective_zone" in entry.remedy.touches


@pytest.mark.parametrize(
    "cause", ["overhead_above_rated_height", "overhead_roofs_too_near", "overhead_ground_too_dark"]
)
def test_work_at_an_overhead_sensor_has_its_ladder_and_a_closed_lane(cause: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert remedy.access == "up_the_post"
    assert {"ladder", "lane_closed"} <= set(remedy.cautions)


def test_dark_ground_is_thought_of_overhead_and_not_at_a_level_scan() -> None:
    wet: dict[str, Value] = {"when_it_happens": "wet", "env_pour_ground": "reacts"}
    dark = "overhead_ground_too_dark"
    assert share(concluded({**wet, "las_mounting": "level"}, "only_in_weather"), dark) == 0
    assert share(concluded({**wet, "las_mounting": "overhead"}, "only_in_weather"), dark) > 0.05


def test_feet_for_metres_is_told_by_its_factor() -> None:
    """One foot is 0.3048 m."""
    assert f"factor of {1 / 0.3048:.1f}" in knowledge().causes["zone_figures_wrong"].explain
