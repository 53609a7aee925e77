"""What the shipped rules must bring about, whatever else is known."""

from collections.abc import Mapping

import pytest

from diagnose.core.reason import Conclusion
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge, reasoner


def concluded(answers: Mapping[str, str], complaint: str = "intermittent", **profile: Value) -> Conclusion:
    given = [Answer(check, value) for check, value in answers.items()]
    return reasoner().conclude(Setup(electrician=True, profile=profile), complaint, given)


PROTECTION_LOST = [
    {"out_gate_follows_lamp": "opposite"},
    {"out_gate_follows_lamp": "nothing", "out_which_output": "protective"},
    {"input_vehicle": "does_not", "out_which_output": "protective"},
    {"lamp_vehicle": "clear", "out_which_output": "protective"},
    {"lamp_vehicle": "drops", "out_which_output": "protective"},
    {"ctl_sense_setting": "opposite", "out_which_output": "protective"},
    {"ctl_input_function": "unassigned", "out_which_output": "protective"},
    {"ctl_terminal_direct": "dead", "out_which_output": "protective"},
    {"ctl_protective_setup": "one_direction"},
    {"ctl_protective_setup": "disabled"},
    {"eye_gap_watch": "drops_at_gap", "eye_job": "stops_closing"},
    {"lop_job": "closes_behind", "lamp_vehicle": "drops"},
]


@pytest.mark.parametrize("answers", PROTECTION_LOST, ids=lambda a: " ".join(f"{k}={v}" for k, v in a.items()))
def test_a_protective_function_seen_not_to_work_stops_work(answers: Mapping[str, str]) -> None:
    """Common practice, no source: such a gate leaves automatic before anything else."""
    assert "stop_protection_lost" in concluded(answers).stop_work


@pytest.mark.parametrize("complaint", ["gate_ignores_sensor", "misses_vehicles"])
def test_a_protection_that_is_ignored_or_blind_by_complaint_stops_work(complaint: str) -> None:
    assert "stop_protection_lost" in concluded({"out_which_output": "protective"}, complaint).stop_work
    assert concluded({"out_which_output": "activation"}, complaint).stop_work == ()


def test_an_opening_sensor_that_is_ignored_does_not_stop_work() -> None:
    answers = {"out_gate_follows_lamp": "nothing", "out_which_output": "activation", "lamp_vehicle": "clear"}
    assert concluded(answers).stop_work == ()


@pytest.mark.parametrize(
    ("complaint", "check", "value"),
    [
        ("dead_indicators", "power_lamp", "steady"),
        ("dead_indicators", "power_lamp", "flickers"),
        ("gate_ignores_sensor", "input_vehicle", "follows"),
    ],
)
def test_a_complaint_that_does_not_fit_is_noted(complaint: str, check: str, value: str) -> None:
    noted = [
        knowledge().rules[r].then.contradiction for r in concluded({check: value}, complaint).after.contradictions
    ]
    assert check in [name for note in noted if note for name in note.recheck]
    assert concluded({check: value}, "intermittent").after.contradictions == ()


def test_without_a_heater_nobody_measures_it() -> None:
    heater = {"sup_heater_load", "sup_heater_off_volts", "env_window_warm"}
    fitted, none = concluded({}, **{"device.heater": "fitted"}), concluded({}, **{"device.heater": "none"})
    assert "sup_heater_load" in {g.option.check for g in fitted.gains}
    assert not heater & {g.option.check for g in none.gains}
    assert heater <= set(none.after.settled)


def test_the_volts_at_the_sensor_are_judged_by_the_cable() -> None:
    """Every number the calculation takes is asked for before the reading, unless the profiles give it."""
    kb = knowledge()
    wanted = {kb.checks[n].fills for n in kb.checks["sup_volts_sensor"].needs} - {""}  # "": AC comes first
    assert {"site.supply_v", "site.cable_length_m", "site.cable_area_mm2", "device.load_w"} <= wanted
    assert wanted <= set(kb.calculations["sup_sensor_verdict"].inputs.values())
