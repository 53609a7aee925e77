"""What a technician types; pint is the oracle for every conversion factor."""

import math
import time

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from diagnose.calc.unit_table import BASES, KINDS
from diagnose.calc.units import format_reading, parse_reading
from diagnose.errors import AnswerError, CalculationError

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
PINT_NAME = {
    "ohm": "ohm", "Mohm": "megaohm", "degC": "degC", "mm2": "mm**2", "uH": "uH", "percent": "percent",
    "count": "dimensionless", "lux": "lux", "mm/h": "mm/hour", "day": "day", "min": "minute", "h": "hour",
    "deg": "degree", "Ω": "ohm", "ohms": "ohm", "R": "ohm", "k": "kilo", "kR": "kiloohm", "kΩ": "kiloohm",
    "kohm": "kiloohm", "kohms": "kiloohm", "MΩ": "megaohm", "Mohms": "megaohm", "M": "megaohm", "meg": "megaohm",
    "megs": "megaohm", "GΩ": "gigaohm", "Gohm": "gigaohm", "Gohms": "gigaohm", "G": "gigaohm", "'": "foot",
    '"': "inch", "''": "inch", "°": "degree", "degs": "degree", "°C": "degC", "C": "degC", "°F": "degF",
    "F": "degF", "degF": "degF", "m/sec": "m/s", "mps": "m/s", "km/hr": "km/hour", "kmh": "km/hour",
    "kph": "km/hour", "kmph": "km/hour", "km/h": "km/hour", "mi/h": "mile/hour", "mph": "mile/hour",
    "ft/sec": "ft/s", "fps": "ft/s", "ft/min": "ft/minute", "fpm": "ft/minute", "in/s": "inch/s",
    "sqmm": "mm**2", "mm²": "mm**2", "mm^2": "mm**2", "sqcm": "cm**2", "cm2": "cm**2", "cm²": "cm**2",
    "cm^2": "cm**2", "%": "percent", "pct": "percent", "x": "dimensionless", "times": "dimensionless",
    "pieces": "dimensionless", "pcs": "dimensionless", "turns": "dimensionless", "trips": "dimensionless",
    "lx": "lux", "klux": "kilolux", "klx": "kilolux", "fc": "lumen/foot**2", "footcandle": "lumen/foot**2",
    "footcandles": "lumen/foot**2", "mm/hr": "mm/hour", "in/h": "inch/hour", "in/hr": "inch/hour",
    "lbf": "force_pound", "lb": "force_pound", "lbs": "force_pound", "kgf": "force_kilogram", "in": "inch",
    "sec": "second", "secs": "second", "msec": "millisecond", "mins": "minute", "hr": "hour", "hrs": "hour",
    "d": "day", "celsius": "degC", "centigrade": "degC", "fahrenheit": "degF", "degreesC": "degC",
    "degreesF": "degF", "cm/s": "cm/s", "amps": "ampere", "amp": "ampere",
    "kilohm": "kiloohm", "kilohms": "kiloohm", "megohm": "megaohm", "megohms": "megaohm", "gigohm": "gigaohm",
    "gigohms": "gigaohm", "henries": "henry", "millihenries": "millihenry", "microhenries": "microhenry",
}  # fmt: skip
MEANS_ELSE_HERE = {
    ("Hz", "k"): "kilohertz", ("ohm", "k"): "kiloohm", ("Mohm", "k"): "kiloohm", ("degC", "°"): "degC",
    ("degC", "deg"): "degC", ("degC", "degree"): "degC", ("degC", "degrees"): "degC", ("degC", "degs"): "degC",
    **{(unit, "m"): "minute" for unit in ("s", "ms", "min", "h", "day")},
}  # fmt: skip


def _pint_name(unit: str, typed: str) -> str:
    return MEANS_ELSE_HERE.get((unit, typed), PINT_NAME.get(typed, typed))


EVERY_SPELLING = [(unit, word) for unit, base in BASES.items() for word in base.kind.factors]


@pytest.mark.parametrize(("unit", "word"), EVERY_SPELLING)
def test_every_spelling_converts_as_pint_does(unit: str, word: str) -> None:
    expected = UNITS.Quantity(7.0, _pint_name(unit, word)).to(PINT_NAME.get(unit, unit)).magnitude
    assert parse_reading(f"7 {word}", unit).value == pytest.approx(expected, rel=1e-9), "oracle: pint"


TYPED = [
    ("9.8", "V", 9.8), ("9,8 V", "V", 9.8), ("980 mV", "V", 0.98), ("980mv", "V", 0.98), (".5 V", "V", 0.5),
    ("−0,5 V", "V", -0.5), ("24 VDC", "V", 24), ("24vac", "V", 24), ("12.5V dc", "V", 12.5),
    ("about 10 volts", "V", 10), ("~10", "V", 10), ("ca. 10 V", "V", 10), ("12 Volts.", "V", 12),
    ("250 mA", "A", 0.25), ("0.25 A", "mA", 250), ("250 µA", "mA", 0.25), ("1e-3 A", "mA", 1),
    ("1.2k ohm", "ohm", 1200), ("1k2", "ohm", 1200), ("8k2 ohms", "ohm", 8200), ("4R7", "ohm", 4.7),
    ("8.2 kΩ", "ohm", 8200), ("10 M", "ohm", 10e6), ("50", "Mohm", 50), ("120 kohm", "Mohm", 0.12),
    ("30 ft", "m", 9.144), ("35 cm", "mm", 350), ("14 in", "mm", 355.6), ("5'6\"", "m", 1.6764),
    ("5′ 6″", "m", 1.6764), ("5'-6\"", "m", 1.6764), ("5 ft 6 in", "m", 1.6764), ("5 ft 6", "m", 1.6764),
    ("5 1/2 in", "mm", 139.7), ("5½\"", "mm", 139.7), ("1/2 in", "mm", 12.7), ("1 m 20 cm", "m", 1.2),
    ("1 min 30 s", "s", 90), ("2 h 15 min", "min", 135), ("200 ms", "s", 0.2), ("5 m", "min", 5),
    ("68 °F", "degC", 20), ("-40 F", "degC", -40), ("20 C", "degC", 20), ("1.5°", "deg", 1.5),
    ("1 ft/s", "m/s", 0.3048), ("5 mph", "m/s", 2.2352), ("0.75 mm²", "mm2", 0.75), ("0.75mm2", "mm2", 0.75),
    ("60 kHz", "Hz", 60000), ("94 µH", "uH", 94), ("0.094 mH", "uH", 94), ("40 %", "percent", 40),
    ("3", "count", 3), ("3 times", "count", 3), ("5 W", "W", 5), ("5 klux", "lux", 5000), ("150 N", "N", 150),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "value"), TYPED)
def test_usual_forms(text: str, unit: str, value: float) -> None:
    assert parse_reading(text, unit).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "low", "value", "high"),
    [
        ("10-12 V", "V", 10, 11, 12), ("10–12V", "V", 10, 11, 12), ("10 V - 12 V", "V", 10, 11, 12),
        ("10 to 12 V", "V", 10, 11, 12), ("10..12", "V", 10, 11, 12), ("900 mV to 1 V", "V", 0.9, 0.95, 1),
        ("between 10 and 12 V", "V", 10, 11, 12), ("24 ± 0.5 V", "V", 23.5, 24, 24.5),
        ("-5 - -3 C", "degC", -5, -4, -3), ("50 ± 9 F", "degC", 5, 10, 15), ("5 - 6 ft", "m", 1.524, 1.6764, 1.8288),
        (">10 MΩ", "ohm", 10e6, 10e6, None), ("at least 5 V", "V", 5, 5, None), ("≥ 5 V", "V", 5, 5, None),
        ("< 2 V", "V", None, 2, 2), ("up to 2 V", "V", None, 2, 2), ("about 10-12 V", "V", 10, 11, 12),
        ("23.8 and 24.1 V", "V", 23.8, 23.8, 24.1), ("24.1 V & 900 mV", "V", 0.9, 0.9, 24.1),
        ("greater than 5 m", "m", 5, 5, None), ("no more than 2 V", "V", None, 2, 2),
    ],
)  # fmt: skip
def test_ranges_and_bounds(text: str, unit: str, low: float | None, value: float, high: float | None) -> None:
    reading = parse_reading(text, unit)
    assert reading.value == pytest.approx(value, rel=1e-9)
    assert reading.low == (None if low is None else pytest.approx(low, rel=1e-9))
    assert reading.high == (None if high is None else pytest.approx(high, rel=1e-9))


@pytest.mark.parametrize(
    ("text", "loose"),
    [("10 to 12 V", True), ("between 10 and 12", True), ("23.8 and 24.1 V", True), ("about 10-12 V", True),
     ("12 to 12 V", False), ("24 ± 0.5 V", False), ("> 5 V", False), ("about 12 V", False), ("12 V", False)],
)  # fmt: skip
def test_two_ends_or_values_are_loose(text: str, loose: bool) -> None:
    assert parse_reading(text, "V").loose is loose


@pytest.mark.parametrize("text", ["OL", "ol", "O.L.", "0L", "open", "open circuit", "OL MΩ", "∞", "over range"])
def test_over_range(text: str) -> None:
    reading = parse_reading(text, "ohm")
    assert math.isinf(reading.value)
    assert reading.note == "over range"
    assert format_reading(reading.value, "ohm") == "over range"


@pytest.mark.parametrize(
    ("text", "unit", "says"),
    [
        ("9.8", "V", "no unit given, taken as V"), ("~10", "V", "approximate"), ("24 vac", "V", "typed as AC"),
        ("5 ft 6", "m", "taken as inches"), ("18 AWG", "mm2", "AWG 18 is 0.823 mm²"),
        ("10-12 V", "V", "middle is used, as not sure"), ("24 ± 1 V", "V", "middle is used"),
        ("23.8 and 24.1 V", "V", "the lower is used, as not sure"), (">5 V", "V", "lower bound"),
    ],
)  # fmt: skip
def test_every_assumption_is_told(text: str, unit: str, says: str) -> None:
    assert says in parse_reading(text, unit).note


def test_nothing_is_noted_when_nothing_was_assumed() -> None:
    assert parse_reading("9.8 V", "V").note == ""


REFUSED = [
    ("1,234", "V", "1234 or 1.234"), ("12,345.6", "V", "plainly"), ("1 234 V", "V", "9.8 V"),
    ("12 ft", "V", "ft' is a length; this question asks for volts (V), for example 9.8 V"),
    ("20 V", "m", "V' is a voltage; this question asks for metres or feet"),
    ("10 MV", "V", "did you mean 'mV'"), ("10 Mv", "V", "did you mean 'mV'"), ("10 MA", "A", "did you mean 'mA'"),
    ("10 mohm", "ohm", "did you mean 'Mohm'"), ("10m", "ohm", "did you mean 'M'"), ("4m7", "ohm", "did you mean 'M'"),
    ("60 mhz", "Hz", "did you mean 'MHz'"), ("5 MW", "W", "did you mean 'mW'"), ("94 MH", "uH", "did you mean 'mH'"),
    ("", "V", "9.8 V"), ("   ", "V", "9.8 V"), ("abc", "V", "9.8 V"), ("9.8 bananas", "V", "bananas"),
    ("5 ft 14 in", "m", "8 ft"),
    ("12-10 V", "V", "lower value first"), ("10/12 V", "V", "one value"), ("5 1/0 in", "mm", "one value"),
    ("1e999", "V", "too large"), ("nan", "V", "9.8 V"), ("2.5", "count", "whole number"), ("1:30", "min", "15 min"),
    ("OL", "m", "metres"), ("open", "V", "volts"), ("99 AWG", "mm2", "outside 0 to 40"), ("10² ohm", "ohm", "ohms"),
    ("1" * 61, "V", "9.8 V"), ("٣", "V", "9.8 V"), ("AC", "V", "9.8 V"), ("1.2.3", "V", "plainly"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "says"), REFUSED)
def test_what_is_unclear_is_asked_again(text: str, unit: str, says: str) -> None:
    with pytest.raises(AnswerError) as refusal:
        parse_reading(text, unit)
    assert says in str(refusal.value)


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("17:30", 17.5), ("5:30 pm", 17.5), ("5:30pm", 17.5), ("5 P.M.", 17.0), ("12:15 am", 0.25), ("12 pm", 12.0),
        ("0:30", 0.5), ("24:00", 24.0), ("about 07:45", 7.75),
    ],
)  # fmt: skip
def test_a_time_of_day_where_hours_are_asked_for(text: str, hours: float) -> None:
    """By the clock: 12 am is midnight, 12 pm noon."""
    reading = parse_reading(text, "h")
    assert reading.value == pytest.approx(hours)
    assert "a time of day" in reading.note


@pytest.mark.parametrize(("text", "unit"), [("24:30", "h"), ("25:00", "h"), ("13 pm", "h"), ("0:10 am", "h"),
                                            ("17:60", "h"), ("17:30", "min"), ("5 pm", "m")])  # fmt: skip
def test_no_time_of_day(text: str, unit: str) -> None:
    with pytest.raises(AnswerError):
        parse_reading(text, unit)


def test_an_unknown_base_unit_is_the_programs_mistake() -> None:
    with pytest.raises(CalculationError, match="furlong"):
        parse_reading("3", "furlong")
    with pytest.raises(CalculationError, match="furlong"):
        format_reading(3, "furlong")


WORDS = sorted({word for kind in KINDS for word in kind.factors} | {"to", "-", "about", ">", "<", "±", "OL", "AWG"})
FRAGMENTS = [*WORDS, " ", ",", ".", "/", "1/2", "between", "and", "1e5"]
PIECES = st.one_of(st.sampled_from(FRAGMENTS), st.integers().map(str))


@given(st.one_of(st.text(max_size=70), st.lists(PIECES, max_size=8).map("".join)), st.sampled_from(sorted(BASES)))
@example("1e400-5 V", "V")
@example("1e308 to 1.5e308 kV", "V")
@example("-1/2 in", "m")
@settings(max_examples=600, deadline=None)
def test_no_text_ends_in_a_traceback(text: str, unit: str) -> None:
    try:
        reading = parse_reading(text, unit)
    except AnswerError as refusal:
        assert str(refusal)
        return
    assert not math.isnan(reading.value)
    assert reading.low is None or reading.low <= reading.value
    assert reading.high is None or reading.value <= reading.high
    assert format_reading(reading.value, unit)


def test_a_hostile_text_is_answered_at_once() -> None:
    start = time.perf_counter()
    for filler in (" ", "1 ", "V ", "a.", "' "):
        with pytest.raises(AnswerError):
            parse_reading(("1" + filler * 60)[:59] + "§", "m")
    assert time.perf_counter() - start < 1.0


@given(
    st.floats(min_value=1e-3, max_value=1e8),
    st.sampled_from([-1.0, 1.0]),
    st.sampled_from(sorted(set(BASES) - {"count"})),
)
def test_what_is_shown_can_be_typed_back(size: float, sign: float, unit: str) -> None:
    value = sign * size
    assert parse_reading(format_reading(value, unit), unit).value == pytest.approx(value, rel=6e-4)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (9.8, "V", "9.8 V"), (0.98, "V", "980 mV"), (0, "V", "0 V"), (1200, "ohm", "1.2 kΩ"), (0, "ohm", "0 Ω"),
        (10e6, "ohm", "10 MΩ"), (350, "mm", "350 mm"), (0.35, "m", "350 mm"), (9.88149, "V", "9.881 V"),
        (0.25, "A", "250 mA"), (20, "degC", "20 °C"), (1.5, "deg", "1.5°"), (94, "uH", "94 µH"), (3, "count", "3"),
        (15, "min", "15 min"), (90, "s", "90 s"), (0.823, "mm2", "0.823 mm²"), (-5, "degC", "-5 °C"),
    ],
)  # fmt: skip
def test_values_are_shown_in_a_handy_unit(value: float, unit: str, shown: str) -> None:
    assert format_reading(value, unit) == shown
