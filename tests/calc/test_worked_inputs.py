"""What the calculators make of typed inputs: assumptions told, friendly refusals, never a traceback."""

import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from diagnose.calc.cable import Load
from diagnose.calc.calculator import Calculator
from diagnose.calc.draw import WIDEST
from diagnose.calc.registry import BY_HAND
from diagnose.calc.work import find, read_one, split, work
from diagnose.errors import AnswerError, CalculationError, DiagnoseError
from tests.calc.lines import worked

EVERY = pytest.mark.parametrize("calculator", BY_HAND.values(), ids=list(BY_HAND))


@EVERY
def test_every_input_can_be_read_from_its_own_example_and_default(calculator: Calculator) -> None:
    for parameter in calculator.inputs:
        assert parameter.asked.asks
        assert read_one(parameter, parameter.asked.example) is not None, parameter.name
        if parameter.assumed:
            assert read_one(parameter, parameter.assumed), parameter.name


@EVERY
def test_nonsense_in_any_input_names_it_with_an_example(calculator: Calculator) -> None:
    pairs = split(calculator, calculator.example.split()[1:])
    for parameter in calculator.inputs:
        others = [pair for pair in pairs if pair[0] != parameter.name]
        with pytest.raises(AnswerError) as refused:
            work(calculator, [*others, (parameter.name, "bananas")])
        assert str(refused.value).startswith(f"{parameter.name}: ")
        assert f"{parameter.name}={parameter.asked.example}" in str(refused.value)


@EVERY
def test_a_missing_input_is_named_with_an_example(calculator: Calculator) -> None:
    _, *words = calculator.example.split()
    pairs = split(calculator, words)
    for parameter in calculator.inputs:
        if parameter.required:
            without = [pair for pair in pairs if pair[0] != parameter.name]
            for left in (without, [*without, (parameter.name, "?")]):
                with pytest.raises(AnswerError, match=f"^{parameter.name} is missing.*{parameter.name}="):
                    work(calculator, left)


def test_words_after_a_value_belong_to_it_and_names_may_be_shortened() -> None:
    calculator = BY_HAND["supply"]
    pairs = split(calculator, ["SOURCE=24", "V", "len=60 m", "temp=-10", "C"])
    assert pairs == [("source", "24 V"), ("length", "60 m"), ("temp", "-10 C")]


def test_assumptions_are_told() -> None:
    inputs = dict(worked("supply source=24 length=60m area=20AWG load=5W").inputs)
    assert "taken as V" in inputs["source"]
    assert "not given, assumed" in inputs["temp"]
    assert "AWG 20" in inputs["area"]


@pytest.mark.parametrize(
    ("typed", "load"),
    [
        ("5W", Load("constant power", 5)),
        ("250 mA", Load("constant current", 0.25)),
        ("0,3 A", Load("constant current", 0.3)),
    ],
)
def test_loads(typed: str, load: Load) -> None:
    parameter = next(p for p in BY_HAND["supply"].inputs if p.name == "load")
    given_load = read_one(parameter, typed)
    assert given_load is not None
    assert given_load.value == load


@pytest.mark.parametrize(
    ("line", "about"),
    [
        ("supply source=24V length=60m area=1mm2 load=5", "watts or amperes"),
        ("supply source=24V length=60m area=1mm2 load=5V", "load"),
        ("supply source=24V source=12V load=5W", "given 2 times"),
        ("supply source=5kV load=5W", "possible is"),
        ("supply 24V", "name=value"),
        ("supply volts=24", "not an input"),
        ("supply m=24", "measured"),
        ("supply_run source=24V area=1mm2 dev=5W", "':'"),
        ("trailer gap=1m speed=0", "speed"),
        ("sun latitude=51 longitude=0 look=10 when=2025-06-01T12:00", "offset from UTC"),
        ("sun latitude=51 longitude=0 look=10 when=2025-02-30T12:00Z", "There is no"),
        ("sun latitude=51 longitude=0 look=10 when=2025-06-01T12:00+19:00", "No place"),
        ("sun latitude=-51S longitude=0 look=10 when=2025-06-01T12:00Z", "sign and a letter"),
        ("suply source=24V", "Did you mean supply"),
    ],
)
def test_friendly_refusals(line: str, about: str) -> None:
    with pytest.raises(AnswerError, match=re.escape(about)):
        worked(line)


@pytest.mark.parametrize(
    "line",
    [
        "supply source=24V load=5W",
        "stopping speed=1m/s delay=0.1s",
        "iso_13855 stop_time=0.3s",
        "iso_13855 stop_time=0.3s approach=along",
        "scan_height distance=5m",
        "scan_height distance=5m height=0.3m near=1m",
        "travel height=0.3m near=5m far=1m bottom=0 top=1m",
        "snow distance=5m",
        "edge measured=1k terminator=1.2k",
        "supply_run source=24V area=1mm2 " + "dev=1m:0.1W " * 41,
    ],
)
def test_inputs_that_do_not_go_together_are_refused_with_an_example(line: str) -> None:
    name = line.split()[0]
    with pytest.raises(CalculationError, match=f"^{name}: .*Example: {name} "):
        worked(line)


NAMES = st.sampled_from(list(BY_HAND))
NUMBERS = st.one_of(
    st.sampled_from(["0", "1e999", "-0", "nan", "inf", "OL", "?", "", "=", "1/2", "3 to 4", "1,234"]),
    st.floats(-1e6, 1e6).map(lambda x: f"{x:.6g}"),
    st.integers(-3, 100).map(str),
)


@given(NAMES, st.lists(st.tuples(st.text(max_size=12), st.text(max_size=20)), max_size=4))
def test_no_text_makes_a_traceback(name: str, pairs: list[tuple[str, str]]) -> None:
    calculator = BY_HAND[name]
    try:
        work(calculator, split(calculator, [f"{key}={text}" for key, text in pairs]))
    except DiagnoseError as refused:
        assert str(refused)


def with_unit(unit: str) -> st.SearchStrategy[str]:
    return NUMBERS.map(lambda number: number + unit)


@settings(max_examples=400, deadline=None)
@given(NAMES, st.data())
def test_no_number_makes_a_traceback_and_every_drawing_fits(name: str, data: st.DataObject) -> None:
    calculator = BY_HAND[name]
    texts = []
    for parameter in calculator.inputs:
        unit = parameter.asked.example.lstrip("+-0123456789.")
        other = st.builds(str.__add__, NUMBERS, st.just(unit))
        if data.draw(st.booleans()) or parameter.required:
            texts.append((parameter.name, data.draw(st.one_of(st.just(parameter.asked.example), other))))
    try:
        found = work(calculator, texts)
    except DiagnoseError as refused:
        assert str(refused)
        return
    for row in found.drawing:
        assert cell_len(row) <= WIDEST, row
    assert "nan" not in " ".join(text for _, text in found.results).split()


@given(st.text(max_size=20))
@example("")
def test_an_unknown_name_is_refused(name: str) -> None:
    if name.strip().casefold().replace("-", "_") not in BY_HAND:
        with pytest.raises(AnswerError):
            find(name)
