"""Entries about what else opens or blocks the gate, held to what a master of the trade asks for.

Source of what is asked: common practice where no standard is named. Ids of entries are named, never cases.
"""

import re

import pytest

from tests.shipped import knowledge

RADIO_OUT = ("opn_radio_out", "opn_one_by_one")


def test_a_receiver_that_carries_a_protective_device_is_not_taken_out() -> None:
    """A radio edge, beam or stop in the same receiver is dead while its plug is out (EN 12453, as restated publicly)."""
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
    assert -1 < test.find("AC") < test.find("cores read")


def test_a_fire_line_is_measured_only_after_its_people_know_and_without_loading_it() -> None:
    says = knowledge().checks["opn_fire_line"].help
    assert -1 < says.find("responsible for the fire system") < says.find("measure across")
    assert "high-impedance" in says


def test_a_broken_fire_line_is_not_almost_ruled_out_by_a_normal_panel() -> None:
    """The entry names the broken line among three; a tenth of the mass contradicted it."""
    shown = knowledge().causes["fire_input_active"].signs["opn_fire_panel"]
    assert 1 - sum(shown.values()) >= 0.2


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
