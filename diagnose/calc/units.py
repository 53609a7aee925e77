"""Reads what a technician types ('9,8 V', '1k2', "5'6\\"", '10-12 V', 'OL') and shows values back.

Assumptions are never silent: each one is told in `Reading.note`, and whatever has two likely meanings
('1,234', 'MV') is refused with a question. Conversions are checked against pint in the tests.
"""

import math
import re
from dataclasses import dataclass

from diagnose.calc import unit_forms as forms
from diagnose.calc import unit_table as table
from diagnose.calc.cable import LARGEST_AWG, SMALLEST_AWG, awg_area_mm2
from diagnose.calc.unit_table import BASES, Base, UnitKind
from diagnose.errors import AnswerError, CalculationError
from diagnose.words import say

_LONGEST_TEXT = 60
_SIGNIFICANT_DIGITS = 4
_TAPE_FRACTIONS = frozenset({2, 4, 8, 16, 32, 64})

SAME_CHARACTER = str.maketrans(
    {
        "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2126": "Ω", "ω": "Ω", "µ": "u", "μ": "u",
        "−": "-", "–": "-", "—": "-", "’": "'", "‘": "'", "′": "'", "“": '"', "”": '"', "″": '"',
        "º": "°", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "≥": ">", "≤": "<", "≈": "~",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class TypedReading:
    """A value in the base unit asked for, with its bounds when given, and any assumption made.

    `loose`: two ends or two values were given, which may mean different things.
    """

    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    note: str = ""
    loose: bool = False


def parse_reading(text: str, unit: str) -> TypedReading:
    """Read `text` as a quantity in the base unit `unit` (a key of `unit_table.BASES`).

    Raises AnswerError with a friendly re-ask for anything unclear, CalculationError for an unknown base unit.
    """
    base = _base(unit)
    typed = " ".join(text.translate(SAME_CHARACTER).split()).rstrip(".!;").strip()
    if not typed or len(typed) > _LONGEST_TEXT:
        raise AnswerError(say("units.please", like=base.like))
    notes: list[str] = []
    low, value, high = _bounds(typed, base, notes)
    if math.isnan(value) or (math.isinf(value) and say("units.over_range") not in notes):
        raise AnswerError(say("units.too_large", typed=text.strip(), example=base.example))
    loose = low != high and bool({say("units.middle_of_range"), say("units.lower_of_two")} & set(notes))
    return TypedReading(value, unit, low, high, "; ".join(dict.fromkeys(notes)), loose)


def format_reading(value: float, unit: str) -> str:
    """Show `value` (in base unit `unit`) to four significant digits, in a handy unit: '980 mV', '1.2 kΩ'."""
    base = _base(unit)
    if not math.isfinite(value):
        return say("units.over_range")
    size = value * base.factor
    factor, symbol = next((step for step in base.steps if abs(size) >= step[0]), base.steps[-1])
    if value == 0:
        factor, symbol = base.steps[0] if base.kind is not table.RESISTANCE else base.steps[-1]
    return _digits(size / factor) + symbol


def _base(unit: str) -> Base:
    if unit not in BASES:
        raise CalculationError(f"'{unit}' is not a unit to ask in; use one of {', '.join(BASES)}.")
    return BASES[unit]


def _digits(value: float) -> str:
    if value == 0 or value == int(value):
        return f"{value:.0f}"
    places = _SIGNIFICANT_DIGITS - 1 - math.floor(math.log10(abs(value)))
    shown = f"{round(value, places):.{max(places, 0)}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _bounds(typed: str, base: Base, notes: list[str]) -> tuple[float | None, float, float | None]:
    """(low, value, high): words such as 'about' and '>' are peeled off first."""
    if about := forms.ABOUT.match(typed):
        notes.append(say("units.approximate"))
        return _bounds(typed[about.end() :], base, notes)
    if (least := forms.AT_LEAST.match(typed)) and not forms.OVER_RANGE.fullmatch(typed):
        notes.append(say("units.lower_bound"))
        value = _quantity(typed[least.end() :], base, notes)
        return value, value, None
    if most := forms.AT_MOST.match(typed):
        notes.append(say("units.upper_bound"))
        value = _quantity(typed[most.end() :], base, notes)
        return None, value, value
    return _range(typed, base, notes) or (None, _quantity(typed, base, notes), None)


def _range(typed: str, base: Base, notes: list[str]) -> tuple[float, float, float] | None:
    if _compound(typed, base, notes) is not None:
        return None
    if match := forms.TOLERANCE.fullmatch(typed):
        middle, spread = _two_values(match, base, notes)
        zero = _converted(0.0, match[4] or match[2], base, [])
        low, high = middle - (spread - zero), middle + (spread - zero)
    elif match := forms.RANGE.fullmatch(typed) or forms.BETWEEN.fullmatch(typed):
        low, high = _two_values(match, base, notes)
    elif match := forms.PAIR.fullmatch(typed):
        low, high = sorted(_two_values(match, base, notes))
        notes.append(say("units.lower_of_two"))
        return low, low, high
    else:
        return None
    if low > high:
        raise AnswerError(say("units.high_to_low", typed=typed))
    notes.append(say("units.middle_used" if forms.TOLERANCE.fullmatch(typed) else "units.middle_of_range"))
    return low, low + (high - low) / 2, high


def _two_values(match: re.Match[str], base: Base, notes: list[str]) -> tuple[float, float]:
    first_unit, second_unit = match[2] or match[4], match[4] or match[2]
    return (
        _converted(_number(match[1], base), first_unit, base, notes),
        _converted(_number(match[3], base), second_unit, base, notes),
    )


def _quantity(typed: str, base: Base, notes: list[str]) -> float:
    for reader in (_over_range, _gauge, _resistor_code, _clock, _compound):
        value = reader(typed, base, notes)
        if value is not None:
            return value
    match = forms.SINGLE.fullmatch(typed)
    if match is None:
        raise AnswerError(say("units.cannot_read", typed=typed, like=base.like))
    return _converted(_number(match[1], base), match[2], base, notes)


def _over_range(typed: str, base: Base, notes: list[str]) -> float | None:
    first_word, _, unit = typed.partition(" ")
    is_over = forms.OVER_RANGE.fullmatch(typed) or (
        forms.OVER_RANGE.fullmatch(first_word) and _factor(unit, base.kind)
    )
    is_open = base.kind is table.RESISTANCE and forms.OPEN.fullmatch(typed)
    if not base.kind.meter_can_overrange or not (is_over or is_open):
        return None
    notes.append(say("units.over_range"))
    return math.inf


def _gauge(typed: str, base: Base, notes: list[str]) -> float | None:
    match = forms.GAUGE.fullmatch(typed)
    if base.kind is not table.AREA or match is None:
        return None
    gauge = int(match[1] or match[2])
    try:
        area = awg_area_mm2(gauge)
    except CalculationError:
        limits = {"low": SMALLEST_AWG, "high": LARGEST_AWG}
        raise AnswerError(say("units.no_gauge", gauge=gauge, **limits, example=base.example)) from None
    notes.append(say("units.gauge_is", gauge=gauge, area=f"{area:.3g}"))
    return area / base.factor


def _resistor_code(typed: str, base: Base, _notes: list[str]) -> float | None:
    match = forms.RESISTOR_CODE.fullmatch(typed)
    if base.kind is not table.RESISTANCE or match is None:
        return None
    if match[2] == "m":
        raise AnswerError(_which_prefix("m", "M", base))
    ratio = base.kind.factors[match[2].upper() if match[2] in "rRM" else "k"] / base.factor
    return float(f"{match[1]}.{match[3]}") * ratio


def _clock(typed: str, base: Base, notes: list[str]) -> float | None:
    """A time of day ('17:30', '5:30 pm') where hours are asked for."""
    match = forms.CLOCK.fullmatch(typed)
    if base.symbol != "h" or match is None:
        return None
    hour, minutes, half = int(match[1]), int(match[2] or 0), (match[3] or "").lower()
    if (half and not 1 <= hour <= 12) or hour * 60 + minutes > 24 * 60:
        raise AnswerError(say("units.no_time", typed=typed))
    notes.append(say("units.time_of_day"))
    return (hour % 12 + 12 * (half == "p") if half else hour) + minutes / 60


def _compound(typed: str, base: Base, notes: list[str]) -> float | None:
    """Two-part lengths and times ('5 ft 6 in', '1 min 30 s'); None when it is not one."""
    match = forms.COMPOUND.fullmatch(typed)
    if not base.kind.compounds or match is None:
        return None
    in_feet = _factor(match[2], base.kind) == table.LENGTH.factors["ft"]
    large, small = _factor(match[2], base.kind), _factor(match[5] or ("in" if in_feet else ""), base.kind)
    hyphen_is_range = match[3] and not (in_feet and match[5])
    if large is None or small is None or small >= large or hyphen_is_range:
        return None
    first, second = _number(match[1], base), _number(match[4], base)
    if second * small >= large:
        return None
    if not match[5]:
        notes.append(say("units.taken_as_inches"))
    return (first * large + second * small) / base.factor


def _number(typed: str, base: Base) -> float:
    typed = typed.replace("- ", "-").replace("+ ", "+")
    if "/" in typed:
        return _tape_fraction(typed, base)
    if forms.GROUPED.fullmatch(typed):
        whole, decimal = typed.replace(",", ""), typed.replace(",", ".")
        raise AnswerError(say("units.two_ways", typed=typed, whole=whole, decimal=decimal))
    if forms.WRITTEN.fullmatch(typed) is None:
        raise AnswerError(say("units.no_number", typed=typed, example=base.example))
    value = float(typed.replace(",", "."))
    if base.kind is table.COUNT and (math.isinf(value) or value != int(value)):
        raise AnswerError(say("units.not_whole", typed=typed))
    return value


def _tape_fraction(typed: str, base: Base) -> float:
    whole, _, fraction = typed.rpartition(" ")
    top, _, bottom = fraction.partition("/")
    if base.kind is not table.LENGTH or not bottom.isdigit() or int(bottom) not in _TAPE_FRACTIONS:
        raise AnswerError(say("units.not_one_number", typed=typed, example=base.example))
    sign = -1.0 if typed.startswith("-") else 1.0
    return sign * (abs(float(whole or 0)) + abs(int(top)) / int(bottom))


def _converted(value: float, typed_unit: str, base: Base, notes: list[str]) -> float:
    """`value` in `typed_unit` as a value in the base unit; tells in `notes` what was assumed."""
    unit = _without_current_type(typed_unit, base, notes)
    if not unit:
        if base.kind is not table.COUNT:
            notes.append(say("units.no_unit", unit=base.symbol))
        return value
    factor = _factor(unit, base.kind)
    if factor is None:
        raise AnswerError(_why_not(unit, base))
    offset = base.kind.offsets.get(_spelling(unit, base.kind) or "", 0.0)
    return value * (factor / base.factor) + offset


def _without_current_type(typed_unit: str, base: Base, notes: list[str]) -> str:
    unit = re.sub(r"[\s.]", "", typed_unit)
    if base.kind in (table.VOLTAGE, table.CURRENT) and (match := re.fullmatch(r"(.*)([AaDd][Cc])", unit)):
        notes.append(say("units.typed_as", kind=match[2].upper()))
        return match[1]
    return unit


def _spelling(unit: str, kind: UnitKind) -> str | None:
    unit = unit.replace(" ", "")
    if unit in kind.factors:
        return unit
    return next((known for known in kind.factors if known.lower() == unit.lower()), None)


def _factor(unit: str, kind: UnitKind) -> float | None:
    """Size of `unit` in the first unit of `kind`, None when unknown or when m/M is in doubt."""
    known = _spelling(unit, kind)
    if known is None or _prefix_in_doubt(unit, known, kind):
        return None
    return kind.factors[known]


def _prefix_in_doubt(unit: str, known: str, kind: UnitKind) -> bool:
    is_prefix = len(known) == 1 or known[1:] in kind.factors
    return kind.prefix_case_matters and is_prefix and known[0] in "mM" and unit.strip()[0] != known[0]


def _which_prefix(typed: str, meant: str, base: Base) -> str:
    words = say("units.milli"), say("units.mega")
    typed_word, meant_word = words if typed.startswith("m") else words[::-1]
    named = {"typed": typed, "typed_word": typed_word, "meant": meant, "meant_word": meant_word}
    return say("units.which_prefix", **named, like=base.like)


def _why_not(unit: str, base: Base) -> str:
    if (known := _spelling(unit, base.kind)) is not None:
        return _which_prefix(unit, known, base)
    other = next((kind for kind in table.KINDS if _spelling(unit, kind)), None)
    if other:
        return say("units.other_kind", unit=unit, kind=other.says, like=base.like)
    return say("units.unknown_unit", unit=unit, like=base.like)
