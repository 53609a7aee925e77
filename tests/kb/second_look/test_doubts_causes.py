"""Causes at which a strict master had left a doubt: what could hurt or accuse the wrong part stays mended.

Each test fails on the entry as it was. Ids of entries are named, never cases.
"""

import pytest

from diagnose.model.knowledge import Cause
from tests.shipped import knowledge


def cause(key: str) -> Cause:
    return knowledge().causes[key]


def steps(key: str) -> str:
    return " | ".join(cause(key).remedy.steps)


# A fire or escape opening stands above every other command.
@pytest.mark.parametrize(
    "key",
    [
        "timer_output_active",
        "network_command_after_restart",
        "remote_open_command",
        "opener_network_lost",
        "protection_ignored_in_travel",
    ],
)
def test_who_changes_what_opens_the_gate_leaves_the_fire_opening(key: str) -> None:
    said = cause(key).test + steps(key)
    assert "fire_release_stays" in cause(key).remedy.cautions
    assert "fire or escape" in said


def test_a_unit_that_also_opens_for_fire_is_not_switched_off_unannounced() -> None:
    test = cause("network_command_after_restart").test
    assert -1 < test.find("fire or escape") < test.find("Switch the unit off")
    assert "fire or escape" in cause("network_command_after_restart").proof


@pytest.mark.parametrize(
    ("key", "closes"),
    [
        ("hold_open_programme", "Remove or correct"),
        ("timer_output_active", "Set clock"),
        ("intercom_relay_active", "Free the handset"),
        ("reader_relay_welded", "Else change"),
    ],
)
def test_the_path_is_looked_at_before_a_hold_ends(key: str, closes: str) -> None:
    """People have walked through an open gate for hours; the moment the hold is gone it closes."""
    assert -1 < steps(key).find("nobody is in the path") < steps(key).find(closes)


def test_a_programme_is_paused_only_with_the_path_clear() -> None:
    test = cause("hold_open_programme").test
    assert -1 < test.find("path clear") < test.find("paused")


def test_a_guard_is_proved_with_a_finger_and_a_childs_arm() -> None:
    """ISO 13857: 120 mm behind openings up to 20 mm, 850 mm behind wider ones; a finger trap is 8 to 25 mm."""
    proof = cause("edg_none_at_draw_in").proof
    assert all(figure in proof for figure in ("20 mm", "120 mm", "850 mm", "8 mm rod", "25 mm"))


def test_a_stored_beam_or_remote_is_not_removed_for_a_lost_edge() -> None:
    assert "beam" in steps("edg_radio_pairing_lost") and "remote control" in steps("edg_radio_pairing_lost")
    assert "protective_zone" in cause("edg_radio_pairing_lost").remedy.touches
    assert "beam" in cause("edg_radio_pairing_lost").proof


@pytest.mark.parametrize("key", ["fed_from_switched_circuit", "breaker_shared", "mains_feeder_weak"])
def test_a_new_mains_circuit_has_its_earth_and_its_tripping_proved(key: str) -> None:
    proof = cause(key).proof
    assert "earth" in proof and "within 300 ms" in proof and "Loop impedance" in proof


def test_neighbouring_pairs_that_only_disturb_each_other_are_found() -> None:
    test = cause("photo_eye_cross_talk").test
    assert "out of automatic" in test and "flicker" in test
    assert "output cores" in steps("photo_eye_cross_talk")


def test_a_neighbouring_loop_is_switched_off_with_both_gates_out_of_automatic() -> None:
    assert cause("loop_cross_talk").test.startswith("Both gates out of automatic")


# The wrong part is not accused.
@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("battery_worn", "13.2 to 14.8 V"),
        ("battery_worn", "12.5 V or more"),
        ("laser_emitter_aged", "same tilt, field and settings"),
        ("window_damaged", "same tilt and settings"),
        ("heater_collapses_supply", "stays over the minimum is no fault"),
        ("heater_collapses_supply", "joint"),
        ("supply_sags_at_motor_start", "is no fault by itself"),
    ],
)
def test_a_test_tells_its_fault_from_its_double(key: str, words: str) -> None:
    assert words in cause(key).test


def test_a_fresh_lithium_cell_passes_its_proof() -> None:
    """Its voltage falls by more than 5 % while it sends, new as it is."""
    assert "90 % with lithium" in cause("edg_radio_battery_flat").proof


@pytest.mark.parametrize("key", ["rad_motion_only_presence", "dense_fog"])
def test_a_loop_as_the_cure_is_proved_as_a_loop(key: str) -> None:
    assert "loop" in cause(key).remedy.touches
