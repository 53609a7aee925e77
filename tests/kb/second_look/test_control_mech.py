"""Entries of controller and mechanics that could hurt somebody, or were wrong, on a second reading by a master.

Sources: EN 12453 (force limits, as restated publicly), textbook physics, and common practice where none is named.
"""

import math
from collections.abc import Mapping
from functools import cache

import pytest

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import at_face_value
from diagnose.model.knowledge import Cause
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

PROTECTION = {"protective_zone", "test_input", "edge"}
LIFTED = "lifting gear"


@cache
def face_value() -> Reasoner:
    return Reasoner(at_face_value(knowledge()))


def concluded(answers: Mapping[str, Value], complaint: str = "nuisance_reversal", **profile: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return face_value().conclude(Setup(electrician=True, profile=profile), complaint, given)


def mine() -> Mapping[str, Cause]:
    return {i: c for i, c in knowledge().causes.items() if c.family in ("controller", "mechanics")}


def steps(cause: str) -> str:
    return " / ".join(knowledge().causes[cause].remedy.steps)


# -- force: EN 12453, 400 N peak and 150 N after 0.75 s, as restated publicly --------------------------------------


@pytest.mark.parametrize(
    ("peak", "after", "stops"), [(380.0, 200.0, True), (380.0, 150.0, False), (420.0, 90.0, True)]
)
def test_a_force_that_stays_is_protection_lost_like_a_high_peak(peak: float, after: float, stops: bool) -> None:
    found = concluded({"mec_closing_force_n": peak, "mec_force_after_n": after}, **{"site.gate_type": "sliding"})
    assert ("stop_protection_lost" in found.stop_work) == stops


def test_no_closing_force_is_proved_with_a_pull_scale() -> None:
    """A scale shows neither the peak of a blow nor the force 0.75 s later."""
    kb = knowledge()
    assert "gauge" not in kb.tools["pull_scale"]
    assert kb.checks["mec_closing_force_n"].tools == kb.checks["mec_force_after_n"].tools == ("force_gauge",)
    without = [i for i, c in mine().items() if "0.75 s" in c.proof and "force_gauge" not in c.remedy.tools]
    assert without == []


def test_the_closing_force_is_measured_where_the_standard_asks() -> None:
    """Three readings at three gaps and three heights, and 25 N after 5 s: EN 12453 as restated publicly."""
    said = knowledge().checks["mec_closing_force_n"].help
    assert all(w in said for w in ("80 mm", "500 N/mm", "Three readings", "mean", "50, 300 and 500 mm"))
    assert all(
        w in said for w in ("50 mm from its bottom", "half way up", "300 mm below its top", "nearer to its hinge")
    )
    assert "25 N" in knowledge().checks["mec_force_after_n"].help


# -- barrier arms: an arm's tip cannot stop within a leaf's distance -----------------------------------------------

ARM_M, CLOSES_S = 4.0, 3.0
TIP_SPEED = math.pi / 2 * ARM_M / CLOSES_S


def slowing(stop_m: float) -> float:
    """v squared over twice the way, in g."""
    return TIP_SPEED**2 / (2 * stop_m) / 9.81


def test_an_arms_run_on_is_judged_where_a_sound_arm_can_pass() -> None:
    """100 mm at the tip would need more than 2 g, which no barrier has; 1 m from the pivot about half a g does."""
    limit = knowledge().calculations["mec_overrun_verdict"].constants["high"]
    assert isinstance(limit, float | int)
    at_1_m_in_radians = limit / 1000.0
    assert slowing(limit / 1000.0) > 2.0 > 1.0 > slowing(at_1_m_in_radians * ARM_M)
    for check in ("mec_overrun_mm", "mec_free_play_mm"):
        assert "1 m from the pivot" in knowledge().checks[check].help
    assert all("1 m from" in knowledge().causes[c].test for c in ("drive_overruns", "gearbox_or_rack_worn"))


# -- who changes a board, and what is owed after it ----------------------------------------------------------------


def test_a_board_with_mains_on_it_is_changed_by_a_licensed_person() -> None:
    boards = {i: c.remedy for i, c in mine().items() if any("board" in p for p in c.remedy.parts)}
    assert len(boards) >= 5
    wrong = [i for i, r in boards.items() if r.who != "electrician" and "licensed person" not in " ".join(r.steps)]
    assert wrong == []


@pytest.mark.parametrize(
    "cause",
    ["controller_board_failed", "input_terminal_failed", "settings_lost_after_power_cut", "controller_water_ingress",
     "sensor_supply_output_failed", "drive_relay_failed"],
)  # fmt: skip
def test_after_a_surge_water_or_a_new_board_every_protective_device_is_proved(cause: str) -> None:
    assert set(knowledge().causes[cause].remedy.touches) >= PROTECTION


def test_a_new_board_keeps_no_link_beside_a_device() -> None:
    """A factory link left in, parallel to a device, makes it useless: only unplugging that device shows it."""
    cause = knowledge().causes["controller_board_failed"]
    assert "bridges" in cause.remedy.touches
    assert "unplugged one at a time" in cause.proof


# -- out of automatic first, nothing tried out on a protective input -----------------------------------------------


@pytest.mark.parametrize(
    "cause", ["wrong_protective_reaction", "settings_lost_after_power_cut", "input_sense_set_wrong",
              "protection_ignored_in_travel", "protective_input_disabled"]
)  # fmt: skip
def test_a_gate_whose_protection_is_set_wrong_leaves_automatic_first(cause: str) -> None:
    assert knowledge().causes[cause].remedy.steps[0].startswith("Take the gate out of automatic")


def test_a_protective_inputs_kind_is_measured_and_not_tried_out() -> None:
    assert "cures at once" not in knowledge().causes["input_sense_set_wrong"].test
    assert "not" in knowledge().checks["ctl_sense_setting"].help.casefold().split("flip")[0][-8:]


@pytest.mark.parametrize("check", ["ctl_board_alive", "ctl_supply_unplugged"])
def test_a_gate_without_its_sensors_does_not_run(check: str) -> None:
    """With every plug out a normally open device looks at rest, so the gate may start without protection."""
    entry = knowledge().checks[check]
    assert entry.hazard
    assert "moving_gate" in entry.cautions
    assert "out of automatic" in entry.help


def test_settings_are_copied_before_a_flat_cell_loses_them() -> None:
    kb = knowledge()
    assert "settings_copied_first" in kb.checks["ctl_backup_cell_v"].cautions
    assert kb.causes["controller_clock_wrong"].remedy.steps[0].startswith("Copy every setting")


def test_automatic_closing_is_not_switched_on_without_protection() -> None:
    said = steps("auto_close_off")
    assert said.index("Where nothing protects the closing travel, leave it off") < said.index("Switch automatic")
    assert "protective_zone" in knowledge().causes["auto_close_time_too_long"].remedy.touches


def test_a_gate_in_manual_is_proved_before_it_is_put_to_automatic() -> None:
    """Some controllers drop to manual after a protective fault."""
    said = steps("controller_mode_wrong")
    assert said.index("Prove the protective devices") < said.index("Set to automatic")


# -- leaf and arm: looked at, held and carried ---------------------------------------------------------------------


@pytest.mark.parametrize("cause", ["drag_in_travel", "leaf_touches_stop", "guide_hinge_or_stop_failed"])
def test_a_leaf_whose_wheels_or_hinges_are_changed_is_carried(cause: str) -> None:
    assert LIFTED in steps(cause) or LIFTED in knowledge().causes[cause].proof


@pytest.mark.parametrize("cause", ["drag_in_travel", "manual_release_open", "gearbox_or_rack_worn"])
def test_stops_and_hinges_are_looked_at_before_a_leaf_is_let_go(cause: str) -> None:
    said = steps(cause).casefold()
    assert "end stops" in said
    assert "manual_release" in knowledge().causes[cause].remedy.cautions


@pytest.mark.parametrize("cause", ["motor_or_capacitor_failed", "gearbox_or_rack_worn", "drive_overruns"])
def test_what_its_drive_held_is_held_before_the_drive_is_opened(cause: str) -> None:
    assert "hold" in steps(cause).casefold().split("change")[0]


def test_whoever_learns_the_travel_again_proves_what_is_blanked() -> None:
    """A learnt end also sets where the controller stops listening to its devices."""
    learnt = {i: c for i, c in mine().items() if "learn the travel" in " ".join(c.remedy.steps).casefold()}
    assert len(learnt) >= 5
    assert [i for i, c in learnt.items() if "protective_zone" not in c.remedy.touches] == []


def test_a_new_motor_runs_the_right_way_before_it_runs_alone() -> None:
    said = steps("motor_or_capacitor_failed")
    assert said.index("hold-to-run") < said.index("Learn the travel")
    assert "open runs open" in said


def test_a_light_leaf_is_not_called_faulty_by_its_current() -> None:
    """A healthy motor takes from 30 % of its plate on, so a proof must not ask for the plate's own current."""
    low = knowledge().calculations["mec_current_verdict"].constants["low"]
    assert low == 0.3
    assert "within 10 % of the plate" not in knowledge().causes["motor_or_capacitor_failed"].proof


# -- complaints of the opening side, of two leaves, and of a gate that runs only while held ------------------------


@pytest.mark.parametrize(
    ("complaint", "cause"),
    [("turns_back_opening", "opening_side_protection_acts"), ("two_leaves", "leaf_order_or_delay_wrong"),
     ("works_only_held", "hold_to_run_agreed")],
)  # fmt: skip
def test_a_new_complaint_puts_its_own_cause_well_before_its_share_elsewhere(complaint: str, cause: str) -> None:
    here = dict(concluded({}, complaint).belief.ranked())
    elsewhere = dict(concluded({}, "ghost_opening").belief.ranked())
    assert here[cause] > 10 * elsewhere[cause]


def test_nobody_gets_rid_of_an_opening_side_stop_by_switching_its_device_off() -> None:
    assert "Never switch the opening-side device off" in steps("opening_side_protection_acts")


@pytest.mark.parametrize(
    ("check", "answer", "order"),
    [("mec_wicket_bolt", "rope", "stop_may_fall"), ("mec_limit_look", "swapped", "stop_protection_lost")],
)
def test_a_slack_rope_and_swapped_limits_stop_work(check: str, answer: str, order: str) -> None:
    """A door may fall; a gate that takes shut for open listens to the wrong devices."""
    assert order in concluded({check: answer}, "will_not_open", **{"site.gate_type": "other"}).stop_work


def test_run_on_grows_with_the_square_of_the_speed() -> None:
    """Textbook physics: the way to stop is speed squared over twice the slowing."""
    assert 1.5**2 > 2.0
    said = knowledge().causes["speed_raised_beyond_distance"].explain
    assert "square of the speed" in said and "At 1.5 times the speed it is more than twice as long" in said


@pytest.mark.parametrize("cause", ["link_between_leaves_lost", "limits_swapped"])
def test_whatever_may_have_parted_a_gate_from_its_devices_has_them_all_proved(cause: str) -> None:
    assert set(knowledge().causes[cause].remedy.touches) >= PROTECTION


def test_a_force_limiting_clutch_is_measured_and_not_just_tightened() -> None:
    remedy = knowledge().causes["clutch_or_belt_slips"].remedy
    assert "drag_before_force" in remedy.cautions
    assert "force_gauge" in remedy.tools
    assert "protective_zone" in remedy.touches
