"""The calculators the rules may use: what a record says of itself, and the sentences beside the words."""

from typing import Annotated

import pytest

from diagnose.calc.calculator import AskedInput, Finished, calculator
from diagnose.calc.read import Quantity
from diagnose.calc.registry import BY_HAND, CALCULATORS, FOR_RULES
from diagnose.calc.work import work


@calculator(
    "heat",
    "Heat of a housing",
    words={"cool": "cool to the hand", "hot": "too hot to hold"},
    sound=lambda numbers: [numbers["air"] + 5],
    example="heat housing=40C",
)
def heat(
    *,
    housing: Annotated[float, AskedInput("Temperature of the housing", "40C", Quantity("degC", -60, 150))],
    air: Annotated[float, AskedInput("Temperature of the air", "20C", Quantity("degC", -60, 60))] = 20.0,
    lid: str = "",
) -> Finished:
    return Finished("hot" if housing > air + 30 else "cool", f"{housing:g} degC in {air:g} degC {lid}".rstrip())


def test_the_inputs_are_those_of_the_signature() -> None:
    assert heat.required == ("housing",)
    assert heat.defaults == {"air": 20.0, "lid": ""}
    assert [(i.name, i.unit, i.assumed) for i in heat.inputs] == [
        ("housing", "degC", ""), ("air", "degC", "20 °C"), ("lid", "", ""),
    ]  # fmt: skip


def test_the_same_record_serves_a_rule_and_a_person() -> None:
    assert heat.judge(housing=60.0).word == "hot"
    said = work(heat, [("housing", "60 C")])
    assert said.results == (("hot", "60 degC in 20 degC"),)
    assert said.meaning == "Too hot to hold."
    assert ("air", "20 °C (not given, assumed)") in said.inputs


def test_what_has_no_words_is_not_for_rules_and_what_has_no_example_not_for_people() -> None:
    assert set(FOR_RULES) | set(BY_HAND) == set(CALCULATORS)
    assert all(not CALCULATORS[name].words for name in set(BY_HAND) - set(FOR_RULES))
    for each in FOR_RULES.values():
        known = {i.name for i in each.inputs}
        assert set(each.required) <= known == set(each.run.__kwdefaults__ or {}) | set(each.required)


def test_an_assumed_release_is_said() -> None:
    judge = FOR_RULES["test_timing"].judge
    assumed, known = judge(pulse_ms=90, response_ms=80), judge(pulse_ms=90, response_ms=80, release_ms=5)
    assert (assumed.word, known.word) == ("pulse_too_short", "good")  # by hand: 80 + 20 against 80 + 5
    assert "release not known, 20 ms assumed" in assumed.says
    assert "assumed" not in known.says


@pytest.mark.parametrize("extra", [0, 0.1])
def test_a_pulse_of_just_the_needed_length_is_long_enough(extra: float) -> None:
    """By hand: 80 ms and 20 ms are 100 ms; in seconds the sum would be rounded to a little more."""
    assert FOR_RULES["test_timing"].judge(pulse_ms=100 + extra, response_ms=80 + extra).word == "good"


def test_no_cable_is_spoken_of_at_the_source() -> None:
    at_source = FOR_RULES["supply_at_device"].judge(measured=23.0, source=24.0, length=0)
    assert at_source.word == "good" and "24.0 V wanted" in at_source.says
    assert " over " not in at_source.says and "mm2" not in at_source.says


def test_the_cable_s_drop_is_worked_out_when_length_size_and_load_are_known() -> None:
    """By hand: 60 m there and back of 0.5 mm2 copper is 4.14 ohm; 0.25 A through it costs 1.03 V."""
    judge = FOR_RULES["supply_at_device"].judge
    known = judge(measured=22.9, source=24.0, length=60, area=0.5, load_a=0.25)
    assert "over 60 m of 0.5 mm2 should leave 23.0 V" in known.says
    assert "unknown run" in judge(measured=22.9, source=24.0, length=60).says
