"""Edges, radar, surroundings: what was dangerous or wrong when a master of the trade read it stays mended.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

import re
from math import cos, pi, radians, sqrt

import pytest

from tests.shipped import knowledge

LIGHT_SPEED = 299_792_458.0


def told(cause: str) -> str:
    return " ".join(knowledge().causes[cause].remedy.steps).casefold()


def percent_words(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"([0-9.]+) %", text)]


# -- edges ------------------------------------------------------------


@pytest.mark.parametrize("check", ["edg_press_test", "edg_neighbour_radio", "edg_near_test", "edg_cable_apart"])
def test_an_edge_off_its_evaluator_or_pressed_by_hand_is_worked_at_with_the_drive_locked_off(check: str) -> None:
    entry = knowledge().checks[check]
    assert "lock_off" in entry.cautions and "drive locked off" in entry.help.casefold()


@pytest.mark.parametrize("check", ["edg_hand_move", "edg_cool_warm", "edg_press_test"])
def test_the_drive_is_off_and_the_device_still_has_its_supply(check: str) -> None:
    """One isolator usually takes both, so the step says how the drive alone is made dead."""
    assert "part the motor" in knowledge().checks[check].help


def test_the_gate_stands_while_a_resistor_protects_in_place_of_the_sender() -> None:
    says = knowledge().checks["edg_near_test"].help
    assert "gate stands as long as" in says.casefold() and "before the drive gets its power" in says


def test_no_movement_is_commanded_while_an_edge_wire_is_off() -> None:
    check = knowledge().checks["edg_unplug_test"]
    assert "No movement is commanded" in check.good and not check.runs_gate


def test_nobody_reaches_between_leaf_and_post_for_a_look() -> None:
    check = knowledge().checks["edg_end_look"]
    assert check.hazard and "moving_gate" in check.cautions and "drive locked off" in check.help


def test_the_stretch_in_which_a_press_is_ignored_is_never_made_longer() -> None:
    """A protective function is not narrowed to get rid of a nuisance."""
    cause = knowledge().causes["edg_pressed_at_end"]
    steps = told("edg_pressed_at_end")
    assert "never made longer" in steps and "else set the stretch" not in steps
    assert "no longer than before" in cause.proof and "protective_zone" in cause.remedy.touches


def test_a_hinge_is_loosened_only_with_the_leaf_held() -> None:
    """EN 12604 as restated publicly: a leaf is kept from falling. The holding is the first step."""
    remedy = knowledge().causes["edg_ground_strike"].remedy
    assert "lifting gear" in remedy.steps[0] and "before a hinge" in remedy.steps[0]
    assert {"manual_release", "stop_may_fall"} <= set(remedy.cautions)


def test_the_ground_gap_is_the_edges_own_figure() -> None:
    cause = knowledge().causes["edg_ground_strike"]
    assert "10 mm" not in cause.test + cause.proof and "papers ask" in cause.proof


@pytest.mark.parametrize("cause", ["edg_evaluator_failed", "edg_radio_receiver_failed", "rad_hardware_failed"])
def test_after_a_surge_all_protection_is_proved_and_ac_measured_first(cause: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert "protective_zone" in remedy.touches and "out of automatic" in remedy.steps[0]
    assert "every other protective device" in told(cause) and "low_voltage_source" in remedy.cautions


def test_water_stays_on_the_list_for_every_kind_of_edge() -> None:
    """Water in the bore is the classic fault of an optical edge; no kind may strike it out."""
    struck = [r for r in knowledge().rules.values() if "edg_water_in_edge" in r.then.exclude]
    assert not struck


def test_a_cap_that_may_carry_the_resistor_is_not_torn_off() -> None:
    check = knowledge().checks["edg_drain_look"]
    assert "may carry the resistor" in check.help and "prove_after" in check.cautions


# -- radar ------------------------------------------------------------

RADAR_MOVED_OR_SET = (
    "rad_aim_too_shallow", "rad_aim_too_steep", "rad_aim_turned", "rad_sensitivity_high", "rad_sensitivity_low",
    "rad_hold_time_long", "rad_sees_leaf", "rad_mount_vibrates", "rad_rain_drops", "rad_film_on_face",
    "rad_foliage_fence", "rad_multipath_metal", "rad_facing_sensor", "rad_field_obstructed", "rad_hardware_failed",
    "rad_face_covered", "rad_slow_vehicle",
)  # fmt: skip


@pytest.mark.parametrize("cause", RADAR_MOVED_OR_SET)
def test_a_radar_that_was_moved_set_or_changed_has_its_protection_proved(cause: str) -> None:
    """A presence kind may protect as well as open."""
    assert "protective_zone" in knowledge().causes[cause].remedy.touches


def test_a_long_hold_is_not_cut_before_something_else_guards_a_standing_vehicle() -> None:
    remedy = knowledge().causes["rad_hold_time_long"].remedy
    assert "another device keeps the gate from closing" in remedy.steps[0]


def test_a_radar_that_protects_is_not_made_less_sensitive() -> None:
    assert "do not lower it" in told("rad_sensitivity_high")
    assert "nothing but open" in told("rad_rain_drops")


def test_whoever_shakes_the_branch_stays_outside_the_field() -> None:
    cause = knowledge().causes["rad_foliage_fence"]
    assert "cord or pole from outside the field" in cause.test and "without touching" in cause.test
    assert "by hand" not in cause.test + cause.proof and cause.remedy.access == "up_the_post"


def test_the_slow_vehicle_is_told_with_the_angle() -> None:
    """Doppler relation: shift = 2 v f cos(angle) / c; no setting finds what its papers rule out."""
    cause = knowledge().causes["rad_slow_vehicle"]
    shift = 2 * (2 / 3.6) * 24.125e9 / LIGHT_SPEED
    assert abs(shift - 90) < 1 and "90 Hz" in cause.explain
    assert abs(cos(radians(60)) - 0.5) < 1e-9 and "at 60 degrees to the lane only half" in cause.explain
    assert "no setting cures that" in told("rad_slow_vehicle")


@pytest.mark.parametrize("check", ["rad_release_time", "rad_reach_measured", "rad_turn_trial", "rad_blind_test"])
def test_a_walk_or_trial_at_a_radar_is_made_with_the_gate_out_of_automatic(check: str) -> None:
    entry = knowledge().checks[check]
    assert "out of automatic" in entry.help and "moving_gate" in entry.cautions


def test_a_trial_turn_that_loses_the_car_tells_nothing() -> None:
    assert "car is lost tells nothing" in knowledge().checks["rad_turn_trial"].help


def test_the_other_radars_gate_is_out_of_automatic_while_it_is_off() -> None:
    check = knowledge().checks["rad_mask_facing"]
    assert "it serves out of automatic first" in check.help and "prove_after" in check.cautions


def test_nobody_climbs_to_an_iced_radar_without_the_warning() -> None:
    assert {"storm", "ladder"} <= set(knowledge().causes["rad_film_on_face"].remedy.cautions)


# -- surroundings ------------------------------------------------------------


@pytest.mark.parametrize("cause", ["rain_and_hail", "falling_snow", "dense_fog", "window_wet_drops"])
def test_no_weather_filter_slows_a_protective_output(cause: str) -> None:
    assert "for the opening zone" in told(cause) and "a protective output keeps its reaction time" in told(cause)


@pytest.mark.parametrize("cause", ["puddle_mirror", "dark_wet_vehicle"])
def test_no_surroundings_narrow_a_protective_zone(cause: str) -> None:
    assert re.search(r"protective zone (keeps its lower edge|is not brought in)", told(cause))


def test_the_range_of_a_dark_vehicle_is_worked_out() -> None:
    """Light that comes back goes with reflectance, range with its square root."""
    says = knowledge().causes["dark_wet_vehicle"].explain
    bright, low, high = percent_words(says.replace("3 to 6 %", "3 % to 6 %"))
    assert round(1 / sqrt(low / bright)) == 5 and abs(sqrt(high / bright) - 1 / 4) < 0.03
    assert "a fifth to a quarter" in says


def test_fog_is_worked_out_with_its_pulse() -> None:
    """Fog backscatter 0.046 / sight (fog_backscatter_2011) over half the pulse's length, against a 5 % target."""
    says = knowledge().causes["dense_fog"].explain
    half_pulse = LIGHT_SPEED * 5e-9 / 2

    def share(sight: float) -> float:
        return sqrt(0.046 / sight * half_pulse / (0.05 / pi))

    assert "5 ns" in says and "through-beam" in says
    assert abs(share(50) - 1 / 5) < 0.02 and abs(share(200) - 1 / 10) < 0.02


def test_drizzle_counts_as_rain() -> None:
    """Sensors 2024, 24(9), 2713: the density of small drops counts, not the amount of rain."""
    kb = knowledge()
    assert "drizzle" in kb.causes["rain_and_hail"].says.casefold()
    sources = {**{i: c.source for i, c in kb.causes.items()}, **{i: c.source for i, c in kb.checks.items()}}
    cites = [i for i, source in sources.items() if source == "rain_sensors_2024"]
    assert cites == ["rain_and_hail"]


def test_a_snow_figure_is_not_taken_from_a_level_scan_for_all() -> None:
    kb = knowledge()
    assert "third of the sensor" not in kb.causes["snow_bank_in_area"].proof
    assert "cannot check" in kb.checks["env_snow_height"].help


SHIELDED = ("window_misted_outside", "wheel_spray_splash", "water_drips_before_window", "flashing_light_nearby")


@pytest.mark.parametrize("cause", SHIELDED)
def test_a_device_that_got_a_hood_or_was_moved_has_its_protection_proved(cause: str) -> None:
    assert {"protective_zone", "bracket"} <= set(knowledge().causes[cause].remedy.touches)


def test_no_eye_is_held_before_a_laser_window() -> None:
    check = knowledge().checks["env_neighbour_faces"]
    assert "laser_class" in check.cautions and "no eye in front of a window" in check.help


@pytest.mark.parametrize("cause", ["low_sun_into_sensor", "window_iced", "window_dirty", "rain_and_hail"])
def test_work_at_a_head_that_may_hang_high_warns_of_the_height(cause: str) -> None:
    assert "ladder" in knowledge().causes[cause].remedy.cautions


def test_the_drive_is_off_and_the_optical_device_still_has_its_supply() -> None:
    assert "part the motor" in knowledge().checks["env_still_drive"].help
