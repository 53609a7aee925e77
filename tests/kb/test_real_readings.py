"""A reading that is real, though unusual, is taken with a doubt; what cannot be is refused."""

import pytest

from diagnose.errors import AnswerError
from diagnose.session.parse import parse_answer
from tests.shipped import knowledge


@pytest.mark.parametrize(
    ("check", "typed"),
    [
        ("edg_terminator_expected", "1.2 kΩ"),
        ("las_height_out_near", "6.8 m"),
        ("las_stay_wanted", "2 days"),
        ("lop_stand_min", "3 days"),
        ("mon_pulse_ms", "0.3 ms"),
        ("env_air_temperature", "65 °C"),
        ("wir_insulation", "> 200 GΩ"),
        ("rad_reach_measured", "60 m"),
        ("ctl_supply_unplugged", "230 V AC"),
        ("sup_device_minimum", "90 V AC"),
        ("sup_cable_area", "25 mm2"),
        ("eye_beam_height", "4.5 m"),
        ("eye_supply_receiver", "230 V AC"),
        ("eye_sweep_left", "120 deg"),
        ("out_leak_volts", "115 V AC"),
    ],
)
def test_it_is_taken_and_asked_about(check: str, typed: str) -> None:
    assert parse_answer(knowledge().checks[check], typed).doubt


@pytest.mark.parametrize(
    ("check", "typed"),
    [("eye_sweep_left", "200 deg"), ("env_air_temperature", "120 °C"), ("sup_volts_sensor", "900 V")],
)
def test_what_cannot_be_is_refused(check: str, typed: str) -> None:
    with pytest.raises(AnswerError, match="cannot be right"):
        parse_answer(knowledge().checks[check], typed)
