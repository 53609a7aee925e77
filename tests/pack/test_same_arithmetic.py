"""The page's calculators, units, number formats and seals against the Python ones, on random inputs."""

import hashlib
import json
import math
import random
import struct
from typing import Any

import pytest
from playwright.sync_api import Page

from diagnose.calc.registry import FOR_RULES
from diagnose.calc.unit_table import BASES
from diagnose.calc.units import format_reading, parse_reading
from diagnose.errors import AnswerError, CalculationError
from diagnose.session.match import by_commonness, match_complaint
from diagnose.session.parse import parse_answer
from diagnose.session.wording import likely_says
from diagnose.store.profiles import profile_facts
from tests.pack.page import PROFILES
from tests.shipped import knowledge

RUN = """([name, inputs]) => inputs.map((given) => {
  const { defaults } = gateDiagnose.kb.calculators[name];
  try {
    const { word, says } = gateDiagnose.CALCULATORS[name]({ ...defaults, ...given });
    return [word, says];
  } catch (error) {
    return error.constructor.name;
  }
})"""
WORDS = {
    "off": ("open", "closed", "broken"), "clear": ("open", "closed"), "blocked": ("open", "closed"),
    "lamp": ("clear", "detecting", "comes_and_goes"), "contact": ("open", "closed", "neither"),
    "logic": ("eod_no", "eod_nc", "dod_no", "dod_nc", "odd"), "input": ("active", "inactive", ""),
    "sense": ("open_is_active", "closed_is_active", ""), "unit": ("", "V", "m", "ohm", "count", "degC", "percent"),
}  # fmt: skip
RANGES = {
    "measured": (-1, 40), "source": (-1, 60), "length": (-1, 300), "area": (-0.1, 4), "load_w": (-1, 80),
    "load_a": (-0.1, 3), "minimum": (0, 30), "maximum": (5, 60), "temperature": (-40, 80), "near": (0, 1),
    "far": (0, 1), "azimuth": (0, 360), "latitude": (-95, 95), "longitude": (-185, 185), "month": (0, 13),
    "hour": (-1, 25), "elevation": (-20, 20), "mohm": (-1, 200), "terminator": (500, 120_000), "turns": (1, 8),
    "perimeter": (2, 30), "lead_in": (0, 60),
}  # fmt: skip


def inputs(name: str, rng: random.Random) -> dict[str, Any]:
    """Required inputs and some of the optional ones; now and then on a limit, or whole, or without sense."""
    calculator = FOR_RULES[name]
    chosen = [i.name for i in calculator.inputs if i.required or rng.random() < 0.6]
    return {p: rng.choice(WORDS[p]) if p in WORDS else _number(name, p, rng) for p in chosen}


def _number(name: str, parameter: str, rng: random.Random) -> float:
    low, high = (-1, 20_000) if name == "edge_resistance" else RANGES.get(parameter, (-2, 100))
    return round(rng.uniform(low, high), rng.randint(0, 6))


@pytest.mark.parametrize("name", FOR_RULES)
def test_a_calculator_gives_the_same_word_and_sentence(tab: Page, name: str) -> None:
    rng = random.Random(name)
    given = [inputs(name, rng) for _ in range(60 if name == "sun_in_view" else 600)]
    here = [_outcome(name, g) for g in given]
    there = tab.evaluate(RUN, [name, given])
    assert there == here
    assert len({w[0] for w in here if isinstance(w, list)}) > 1


def _outcome(name: str, given: dict[str, Any]) -> list[str] | str:
    try:
        outcome = FOR_RULES[name].judge(**given)
    except CalculationError:
        return "CalculationError"
    return [outcome.word, outcome.says]


SUN = """(places) => places.map(([latitude, longitude, azimuth, month, hour]) =>
  gateDiagnose.CALCULATORS.sun_in_view({ latitude, longitude, azimuth, month, hour, elevation: 0 }).word)"""


def test_the_sun_gets_the_same_verdict_at_many_places(tab: Page) -> None:
    """astral against the page's own series; 1500 places and hours, those near the limit of 15 degrees included."""
    rng = random.Random(15)
    places = [
        [round(rng.uniform(-66, 66), 2), round(rng.uniform(-180, 180), 2), rng.randrange(360), rng.randint(1, 12), h]
        for h in (rng.choice((5.5, 7, 8.5, 12, 16, 17.5, 19)) for _ in range(1500))
    ]
    run = FOR_RULES["sun_in_view"].judge
    here = [run(latitude=a, longitude=o, azimuth=z, month=m, hour=h).word for a, o, z, m, h in places]
    assert tab.evaluate(SUN, places) == here
    assert 50 < here.count("near_sun") < 1400


def test_every_calculator_of_the_knowledge_is_in_the_page(tab: Page) -> None:
    known = set(tab.evaluate("Object.keys(gateDiagnose.CALCULATORS)"))
    assert known == set(FOR_RULES) >= {c.calculator for c in knowledge().calculations.values()}


READ = """([unit, texts]) => texts.map((text) => {
  try {
    const { value, note, loose } = gateDiagnose.parseReading(text, unit);
    return [value === Infinity ? "inf" : value, note, loose];
  } catch (error) {
    return error.message;
  }
})"""
TYPED = (
    "9.8", "9,8 V", "980 mV", "14 in", "5'6\"", "5 ft 6 in", "1/2 in", "3 1/2\"", "1k2", "4R7", "4m7", "8k2 ohm",
    "OL", "O.L. MΩ", "open circuit", "∞", "about 12", "~12 V DC", "> 20", "<0,5", ">= 3 m", "10-12 V", "10 to 12",
    "23.8 and 24.1 V", "24.1 V & 23.8", "5 ft and 6 in", "1 and 1", "12 to 12", "greater than 5", "no more than 2 V",
    "10to12", "1..2", "between 10 and 12 V", "24 V ± 2", "24+/-2V", "1,234", "1.234", "1,2,3", "1e3",
    "1e400", "1.5e-3 V", "-5",
    "- 5 V", "17:30", "5:30 pm", "25:00", "13 pm", "7 a.m.", "18 AWG", "awg 4", "AWG 99", "0.75 mm²", "1,5 mm^2",
    "20 °C", "68 °F", "68F", "-40f", "3 x", "2.5 x", "40 %", "MV", "mv", "kv", "khz", "60 kHz", "94 uH", "94 µH", "m",
    "1 m 20 cm", "2 min 30 s", "2 m 30", "6-4", "6 ft 4", "5½ in", "", "  ", "abc", "12 apples", "12 V.", "12;",
    "1\u00a0000", "９", "12–14 mm", "0 to 0", "14 to 12", "½", "5 sq mm", "3 turns", "1 klux", "30 mph", "1,000.5",
    "x" * 70, "10 Ω to 20 Ω", "10 Ωto 20", "under 5 ohm", "1 2", "1/3 in", "1 000", "0x10", "inf V", "nan", "1_000",
)  # fmt: skip


@pytest.mark.parametrize("unit", BASES)
def test_what_is_typed_is_read_the_same(tab: Page, unit: str) -> None:
    """Everything in the list at every unit, and 400 texts glued from its pieces."""
    rng = random.Random(unit)
    texts = [*TYPED, *(_glued(rng) for _ in range(400))]
    here = [_read(text, unit) for text in texts]
    there = tab.evaluate(READ, [unit, texts])
    assert [(t, b) for t, a, b in zip(texts, here, there, strict=True) if a != b] == [
        (t, a) for t, a, b in zip(texts, here, there, strict=True) if a != b
    ]


def _glued(rng: random.Random) -> str:
    numbers = ("5", "12", "0.5", "1,5", "3/4", "1 1/2", "-7", "1e2", ".25", "1,234")
    units = ("", " V", "mV", " m", "mm", " ft", "in", '"', "'", " k", "M", " ohm", " s", "ms", " %", "°", " °F", "Hz")
    joints = ("", " ", "-", " to ", " - ", "+/-", " ± ", "..", ">", "about ")
    parts = [rng.choice(c) for c in (joints, numbers, units, joints, numbers, units)]
    return "".join(parts[: rng.choice((3, 3, 6))])


def _read(text: str, unit: str) -> list[Any] | str:
    try:
        reading = parse_reading(text, unit)
    except AnswerError as error:
        return str(error)
    return ["inf" if math.isinf(reading.value) else reading.value, reading.note, reading.loose]


def test_values_are_shown_the_same(tab: Page) -> None:
    rng = random.Random(4)
    values = [(rng.uniform(-1, 1) * 10 ** rng.randint(-6, 9), u) for u in BASES for _ in range(60)]
    values += [(x, u) for u in BASES for x in (0.0, -0.0, 1.0, 0.5, 2.5, 1e-3, 999.95, 12345.6, 1e6)]
    there = tab.evaluate("(v) => v.map(([x, u]) => gateDiagnose.formatReading(x, u))", values)
    assert there == [format_reading(x, u) for x, u in values]


QUANTITY = """([check, texts]) => texts.map((text) => {
  try {
    const { value, sure, note, doubt } = gateDiagnose.parseQuantity(gateDiagnose.kb.checks.get(check), text);
    return [value, sure, note, doubt];
  } catch (error) {
    return "refused";
  }
})"""


def test_a_quantity_is_judged_by_its_limits_the_same(tab: Page) -> None:
    texts = [*TYPED, "12 V?", "maybe 12", "Maybe 3 m?", "10000", "0", "-3", "1", "maybe", "50"]
    for check in [c for c in knowledge().checks.values() if c.kind == "quantity"][::6]:
        here: list[Any] = []
        for text in texts:
            try:
                p = parse_answer(check, text)
                here.append([p.value, p.sure, p.note, p.doubt])
            except AnswerError:
                here.append("refused")
        assert tab.evaluate(QUANTITY, [check.id, texts]) == here, check.id


def doubles(rng: random.Random, count: int) -> list[float]:
    """Any finite double, and the plain ones people use."""
    raw = (struct.unpack("d", rng.randbytes(8))[0] for _ in range(count))
    plain = [round(rng.uniform(-1e4, 1e4), rng.randint(0, 5)) for _ in range(count)]
    return [x for x in (*raw, *plain, 0.0, 1e16, 1e15, 1e-4, 9e-5, 0.1, 5e-324, 1e22) if math.isfinite(x)]


def test_floats_are_written_as_python_writes_them(tab: Page) -> None:
    values = doubles(random.Random(1), 800)
    assert tab.evaluate("(v) => v.map(gateDiagnose.floatText)", values) == [repr(x) for x in values]


def test_numbers_are_rounded_as_python_rounds_them(tab: Page) -> None:
    values = [x for x in doubles(random.Random(2), 500) if abs(x) < 1e15] + [0.5, 1.5, 2.5, 0.125, 0.375, 12.25, -2.5]
    for places in (0, 1, 2):
        there = tab.evaluate("([v, n]) => v.map((x) => gateDiagnose.fixed(x, n))", [values, places])
        assert there == [f"{x:.{places}f}" for x in values]
    there = tab.evaluate("(v) => v.map((x) => gateDiagnose.general(x))", values)
    assert there == [f"{x:g}" for x in values]


def test_chances_get_the_same_words(tab: Page) -> None:
    shares = [n / 2000 for n in range(2001)]
    assert tab.evaluate("(p) => p.map(gateDiagnose.likelySays)", shares) == [likely_says(p) for p in shares]


def test_a_text_gets_the_same_seal(tab: Page) -> None:
    """FIPS 180-4 by way of hashlib; every length around the block limits."""
    texts = ["x" * n for n in range(140)] + ["".join(map(chr, range(32, 127))) * 40]
    there = tab.evaluate("(t) => t.map(gateDiagnose.sha256)", texts)
    assert there == [hashlib.sha256(t.encode()).hexdigest() for t in texts]


def test_complaints_sound_the_same(tab: Page) -> None:
    kb = knowledge()
    said = [w for c in kb.complaints.values() for w in c.caller_says]
    said += ["", "rain", "gate hit a car", "zzzz", "ÖFFNET"]
    there = tab.evaluate("(s) => s.map((w) => gateDiagnose.matchComplaint(gateDiagnose.kb, w))", said)
    assert there == [match_complaint(kb, w) for w in said]
    assert tab.evaluate("gateDiagnose.byCommonness(gateDiagnose.kb)") == by_commonness(kb)


def test_the_page_holds_the_profiles_as_a_visit_carries_them(tab: Page) -> None:
    payload = "JSON.parse(document.getElementById('knowledge').textContent)"
    held = tab.evaluate(f"{payload}.profiles.map((p) => [p.id, p.facts])")
    assert dict(held) == {name: json.loads(json.dumps(profile_facts([name]))) for name in PROFILES}
