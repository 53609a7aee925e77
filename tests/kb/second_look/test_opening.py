"""Entries about what else opens or blocks the gate, held to what a master of the trade asks for.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

import re
from collections.abc import Mapping

import pytest

from diagnose.core.reason import Conclusion
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge, reasoner


def concluded(answers: Mapping[str, Value], complaint: str) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return reasoner().conclude(Setup(electrician=True), complaint, given)


def ranked(found: Conclusion) -> list[str]:
    return [cause for cause, chance in found.belief.ranked() if chance > 0]


RADIO_OUT = ("opn_radio_out", "opn_one_by_one")


def test_a_receiver_that_carries_a_protective_device_is_not_taken_out() -> None:
    """A radio edge, beam or stop in the same receiver is dead while its plug is out (EN 12453)."""
    kb = knowledge()
    assert all("radio_carries_protection" in kb.checks[check].cautions for check in RADIO_OUT)
    assert "protective" in kb.cautions["radio_carries_protection"].says
    assert all(re.search("radio edge.*stop", kb.checks[check].help) for check in RADIO_OUT)
    assert "cannot check" in kb.checks["opn_radio_out"].help


def test_a_cleared_receiver_has_its_radio_edge_proved_again() -> None:
    remedy = knowledge().causes["remote_stuck_or_cloned"].remedy
    assert "edge" in remedy.touches and "radio_carries_protection" in remedy.cautions
    clears = next(step for step in remedy.steps if "clear the memory" in step)
    assert "no protective device is stored" in clears


FREED_AT_ONCE = {
    "intercom_relay_active": "hang up",
    "remote_open_command": "end the hold",
    "keyswitch_left_on": "turn it back",
    "second_protective_device_active": "springs out",
}


@pytest.mark.parametrize(("cause", "act"), FREED_AT_ONCE.items())
def test_a_caller_looks_at_the_path_before_he_frees_a_held_gate(cause: str, act: str) -> None:
    """The gate is not switched off for these, and closes or starts as soon as what holds it is gone."""
    told = knowledge().causes[cause].caller
    assert told and not told.hands_near
    steps = " ".join(told.steps)
    assert -1 < steps.find("nobody is in the gate's path") < steps.find(act)
    assert re.search(r"gate (may|will) (shut|start)( at once)?", steps)


@pytest.mark.parametrize("check", ["opn_reader_ohm", "opn_line_at_rest_ohm", "opn_cable_alone_mohm"])
def test_no_resistance_is_read_before_the_pair_is_proved_without_voltage(check: str) -> None:
    """AC before DC and to earth: a DC or an ohm range does not show mains (IEC 60364-4-41, IEC 61243-3)."""
    says = knowledge().checks[check].help
    assert -1 < says.find("AC volts") < says.find("hm", says.find("AC volts") + 1)
    assert "to earth" in says


def test_a_line_out_of_a_mains_board_is_measured_on_ac_to_earth_before_it_is_taken_off() -> None:
    cause = knowledge().causes["timer_output_active"]
    assert "low_voltage_source" in cause.remedy.cautions
    assert -1 < cause.test.find("AC to earth first") < cause.test.find("pair off")


def test_a_damaged_cable_is_proved_without_mains_first() -> None:
    test = knowledge().causes["other_line_damaged"].test
    assert -1 < test.find("AC") < test.find("under 1 Mohm")


def test_a_fire_line_is_measured_only_after_its_people_know_and_without_loading_it() -> None:
    says = knowledge().checks["opn_fire_line"].help
    assert -1 < says.find("responsible for the fire system") < says.find("measure across")
    assert "high-impedance" in says


def test_a_broken_fire_line_is_not_almost_ruled_out_by_a_normal_panel() -> None:
    """The entry names the broken line among three; a tenth of the mass contradicted it."""
    shown = knowledge().causes["fire_input_active"].signs["opn_fire_panel"]
    assert 1 - sum(float(share) for share in shown.values()) >= 0.2


def test_a_suppressor_fits_the_kind_of_current() -> None:
    """A diode across an AC coil is a short circuit in every second half wave (physics)."""
    says = " ".join(knowledge().causes["reader_relay_welded"].remedy.steps)
    assert "diode only on DC" in says and "AC a varistor or RC" in says


def test_a_new_key_switch_has_its_box_proved_tight() -> None:
    assert "covers" in knowledge().causes["keyswitch_left_on"].remedy.touches


def test_one_distance_for_the_parked_tag() -> None:
    """A long-range reader reaches past ten metres, so the caller's trial needs the distance of the technician's."""
    cause = knowledge().causes["reader_sees_parked_tag"]
    assert cause.caller and "20 m" in cause.test and any("twenty metres" in step for step in cause.caller.steps)


LIGHT = 299_792_458.0  # m/s


@pytest.mark.parametrize("megahertz", [433.92, 868.3])
def test_the_aerial_is_a_quarter_of_the_wavelength(megahertz: float) -> None:
    """Length = speed of light / (4 x frequency), and the short formula for other bands agrees with it."""
    cause = knowledge().causes["receiver_aerial_bad"]
    centimetres = LIGHT / (4 * megahertz * 1e6) * 100
    told = re.search(rf"([\d.]+) cm at {megahertz:.1f} MHz", cause.test)
    assert told and float(told[1]) == pytest.approx(centimetres, abs=0.05)
    formula = re.search(r"(\d+) divided by the frequency in MHz", " ".join(cause.remedy.steps))
    assert formula and float(formula[1]) / megahertz == pytest.approx(centimetres, rel=0.001)


def test_a_hanging_aerial_has_the_ladder_s_caution() -> None:
    remedy = knowledge().causes["receiver_aerial_bad"].remedy
    assert remedy.access == "up_the_post" and "ladder" in remedy.cautions


RADIO = ["handset_not_known", "new_handset_not_taken", "receiver_output_wrong", "remote_stuck_or_cloned"]


@pytest.mark.parametrize("cause", RADIO)
def test_whoever_teaches_clears_or_replaces_a_receiver_proves_its_radio_edge(cause: str) -> None:
    remedy = knowledge().causes[cause].remedy
    assert "edge" in remedy.touches
    assert {"radio_carries_protection", "moving_gate"} <= set(remedy.cautions)


def test_a_small_cell_is_kept_from_children() -> None:
    """IEC 60086-4: a swallowed lithium cell kills; said to callers too, who change most of them."""
    cause = knowledge().causes["handset_battery_weak"]
    assert cause.caller and "coin_cell" in cause.caller.cautions and "coin_cell" in cause.remedy.cautions


def test_a_dead_fire_release_is_told_at_once() -> None:
    found = concluded({"opn_fire_line": "silent"}, "will_not_open")
    assert {"fire_release_lost", "fire_release_stays"} <= set(found.after.cautions)
    assert ranked(found)[0] == "fire_release_silent"


RADIO_FAILS: dict[str, Value] = {"opn_fails_with": "radio"}
ALL, NEAR = {"opn_handsets_affected": "all"}, {"opn_handset_try": "near"}
LEADS: list[tuple[str, dict[str, Value]]] = [
    ("handset_battery_weak", {**RADIO_FAILS, "opn_handsets_affected": "one", "opn_handset_try": "weak_lamp"}),
    ("handset_battery_weak", {**RADIO_FAILS, "opn_handsets_affected": "one", **NEAR}),
    ("handset_not_known", {**RADIO_FAILS, "opn_handsets_affected": "one", "opn_handset_try": "nowhere"}),
    ("new_handset_not_taken", {**RADIO_FAILS, "opn_handsets_affected": "new_one"}),
    ("receiver_aerial_bad", {**RADIO_FAILS, **ALL, **NEAR}),
    ("radio_channel_jammed", {**RADIO_FAILS, **ALL, **NEAR, "opn_receiver_answers": "lit_alone"}),
    ("receiver_output_wrong", {**RADIO_FAILS, **ALL, "opn_receiver_answers": "dark"}),
    ("access_right_refused", {"opn_fails_with": "access", "opn_access_answer": "refuses_one"}),
    ("reader_reads_badly", {"opn_fails_with": "access", "opn_access_answer": "no_answer"}),
    (
        "access_pulse_wrong",
        {"opn_access_answer": "accepts", "opn_input_on_command": "brief", "opn_fails_with": "access"},
    ),
    ("phone_opener_no_network", {"opn_fails_with": "phone", "opn_access_answer": "no_answer"}),
    ("phone_caller_refused", {"opn_fails_with": "phone", "opn_access_answer": "refuses_one"}),
    ("opener_network_lost", {"opn_fails_with": "network", "opn_access_answer": "no_answer"}),
    ("keyswitch_or_button_dead", {"opn_fails_with": "wired", "opn_input_on_command": "not_shown"}),
]


@pytest.mark.parametrize(("cause", "answers"), LEADS)
def test_the_first_questions_of_a_help_desk_tell_the_openers_apart(cause: str, answers: dict[str, Value]) -> None:
    assert ranked(concluded(answers, "will_not_open"))[0] == cause


@pytest.mark.parametrize("answer", ["vehicle", "everything"])
def test_where_no_opener_fails_none_is_suspected_first(answer: str) -> None:
    kb = knowledge()
    first = ranked(concluded({"opn_fails_with": answer}, "will_not_open"))[:2]
    assert not {c for c in first if kb.causes[c].family == "other_opening"}


def test_remotes_that_all_work_contradict_remotes_that_fail() -> None:
    found = concluded({**RADIO_FAILS, "opn_handsets_affected": "work"}, "will_not_open")
    assert "opn_all_remotes_but_radio_fails" in found.after.contradictions


def test_a_site_without_remotes_is_asked_about_none() -> None:
    found = concluded({"opn_handsets_affected": "not_fitted"}, "will_not_open")
    assert not {"handset_battery_weak", "receiver_aerial_bad", "radio_channel_jammed"} & set(ranked(found))
    assert not {"opn_handset_try", "opn_receiver_answers"} & {g.option.check for g in found.gains}


@pytest.mark.parametrize("cause", ["keyswitch_or_button_dead", "reader_reads_badly"])
def test_an_opener_is_fitted_out_of_reach_of_the_moving_gate(cause: str) -> None:
    """UL 325, as restated in trade literature: controls at least 6 feet from the moving gate."""
    steps = " ".join(knowledge().causes[cause].remedy.steps)
    told = re.search(r"reach the moving gate - ([\d.]+) m away", steps)
    assert told and float(told[1]) == pytest.approx(6 * 0.3048, abs=0.05)
