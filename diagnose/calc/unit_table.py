"""The units a technician may type, and how a value is shown: data for `diagnose.calc.units`.

Factors are exact by definition (inch 25.4 mm, pound-force 4.4482216 N, footcandle 10.7639 lx); the tests
compare every one of them with pint.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

from diagnose.words import say

Steps = tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class UnitKind:
    """A physical quantity: spellings and their factor to the first unit listed."""

    name: str
    factors: Mapping[str, float]
    offsets: Mapping[str, float] = field(default_factory=dict)
    prefix_case_matters: bool = False
    meter_can_overrange: bool = False
    compounds: bool = False

    @property
    def says(self) -> str:
        """'a voltage'."""
        return say(f"units.kind_{self.name}")


@dataclass(frozen=True, slots=True)
class Base:
    """A unit a question may ask in; `steps` are the (factor, symbol) pairs used to show a value."""

    kind: UnitKind
    symbol: str
    steps: Steps

    @property
    def key(self) -> str:
        """Its name among the words: 'm_per_s'."""
        return self.symbol.lower().replace("/", "_per_")

    @property
    def wanted(self) -> str:
        """What a question asks for: 'volts (V)'."""
        return say(f"units.wanted_{self.key}")

    @property
    def example(self) -> str:
        """A reading as it may be typed."""
        return say(f"units.example_{self.key}")

    @property
    def like(self) -> str:
        """Both of them."""
        return say("units.like", wanted=self.wanted, example=self.example)

    @property
    def factor(self) -> float:
        """Size of this unit in the first unit of its kind."""
        return self.kind.factors[self.symbol]


def _spell(by_factor: Mapping[float, str]) -> dict[str, float]:
    return {word: factor for factor, words in by_factor.items() for word in words.split()}


VOLTAGE = UnitKind(
    "voltage",
    _spell({1: "V volt volts", 1e-3: "mV millivolt millivolts", 1e-6: "uV", 1e3: "kV kilovolt kilovolts"}),
    prefix_case_matters=True,
    meter_can_overrange=True,
)
CURRENT = UnitKind(
    "current",
    _spell(
        {
            1: "A amp amps ampere amperes",
            1e-3: "mA milliamp milliamps milliampere milliamperes",
            1e-6: "uA microamp microamps",
        }
    ),
    prefix_case_matters=True,
    meter_can_overrange=True,
)
RESISTANCE = UnitKind(
    "resistance",
    _spell(
        {
            1: "Ω ohm ohms R",
            1e-3: "milliohm milliohms",
            1e3: "kΩ kohm kohms k kR kilohm kilohms kiloohm kiloohms",
            1e6: "MΩ Mohm Mohms M meg megs megohm megohms megaohm megaohms",
            1e9: "GΩ Gohm Gohms G gigohm gigohms gigaohm gigaohms",
        }
    ),
    prefix_case_matters=True,
    meter_can_overrange=True,
)
LENGTH = UnitKind(
    "length",
    _spell(
        {
            1: "m metre metres meter meters",
            1e-2: "cm centimetre centimetres centimeter centimeters",
            1e-3: "mm millimetre millimetres millimeter millimeters",
            1e3: "km kilometre kilometres kilometer kilometers",
            0.3048: "ft foot feet '",
            0.0254: "in inch inches \" ''",
            0.9144: "yd yard yards",
        }
    ),
    compounds=True,
)
TIME = UnitKind(
    "time",
    _spell(
        {
            1: "s sec secs second seconds",
            1e-3: "ms msec millisecond milliseconds",
            60: "min mins minute minutes m",
            3600: "h hr hrs hour hours",
            86400: "day days d",
        }
    ),
    compounds=True,
)
ANGLE = UnitKind("angle", _spell({1: "° deg degs degree degrees", 180 / pi: "rad radian radians", 0.18 / pi: "mrad"}))
TEMPERATURE = UnitKind(
    "temperature",
    _spell(
        {
            1: "°C C degC degreesC celsius centigrade ° deg degree degrees",
            5 / 9: "°F F degF degreesF fahrenheit",
        }
    ),
    offsets=dict.fromkeys(("°F", "F", "degF", "degreesF", "fahrenheit"), -160 / 9),
)
SPEED = UnitKind(
    "speed",
    _spell(
        {
            1: "m/s m/sec mps",
            1e-2: "cm/s",
            1e-3: "mm/s",
            1 / 3.6: "km/h km/hr kmh kph kmph",
            0.44704: "mph mi/h",
            0.3048: "ft/s ft/sec fps",
            0.3048 / 60: "ft/min fpm",
            0.0254: "in/s",
        }
    ),
)
AREA = UnitKind("conductor_size", _spell({1: "mm2 mm² mm^2 sqmm", 100: "cm2 cm² cm^2 sqcm"}))
FREQUENCY = UnitKind(
    "frequency",
    _spell({1: "Hz hertz", 1e3: "kHz k kilohertz", 1e6: "MHz megahertz"}),
    prefix_case_matters=True,
)
INDUCTANCE = UnitKind(
    "inductance",
    _spell(
        {
            1: "H henry henries",
            1e-3: "mH millihenry millihenries",
            1e-6: "uH microhenry microhenries",
        }
    ),
    prefix_case_matters=True,
    meter_can_overrange=True,
)
PERCENT = UnitKind("percentage", _spell({1: "% percent pct"}))
COUNT = UnitKind("count", _spell({1: "x times pieces pcs turns trips"}))
POWER = UnitKind(
    "power",
    _spell({1: "W watt watts", 1e-3: "mW milliwatt milliwatts", 1e3: "kW kilowatt kilowatts"}),
    prefix_case_matters=True,
)
LIGHT = UnitKind(
    "light_level", _spell({1: "lux lx", 1e3: "klux klx", 10.763910416709722: "fc footcandle footcandles"})
)
RAIN = UnitKind("rain_rate", _spell({1: "mm/h mm/hr", 25.4: "in/h in/hr"}))
FORCE = UnitKind("force", _spell({1: "N newton newtons", 4.4482216152605: "lbf lb lbs", 9.80665: "kgf"}))

KINDS = (
    VOLTAGE,
    CURRENT,
    RESISTANCE,
    LENGTH,
    TIME,
    ANGLE,
    TEMPERATURE,
    SPEED,
    AREA,
    FREQUENCY,
    INDUCTANCE,
    PERCENT,
    COUNT,
    POWER,
    LIGHT,
    RAIN,
    FORCE,
)

_VOLT_STEPS: Steps = ((1, " V"), (1e-3, " mV"))
_AMP_STEPS: Steps = ((1, " A"), (1e-3, " mA"))
_OHM_STEPS: Steps = ((1e6, " MΩ"), (1e3, " kΩ"), (1, " Ω"))
_LENGTH_STEPS: Steps = ((1, " m"), (1e-3, " mm"))
_TIME_STEPS: Steps = ((1, " s"), (1e-3, " ms"))
_HERTZ_STEPS: Steps = ((1e6, " MHz"), (1e3, " kHz"), (1, " Hz"))
_HENRY_STEPS: Steps = ((1e-3, " mH"), (1e-6, " µH"))

BASES: Mapping[str, Base] = {
    "V": Base(VOLTAGE, "V", _VOLT_STEPS),
    "mV": Base(VOLTAGE, "mV", _VOLT_STEPS),
    "A": Base(CURRENT, "A", _AMP_STEPS),
    "mA": Base(CURRENT, "mA", _AMP_STEPS),
    "ohm": Base(RESISTANCE, "ohm", _OHM_STEPS),
    "Mohm": Base(RESISTANCE, "Mohm", _OHM_STEPS),
    "m": Base(LENGTH, "m", _LENGTH_STEPS),
    "mm": Base(LENGTH, "mm", _LENGTH_STEPS),
    "s": Base(TIME, "s", _TIME_STEPS),
    "ms": Base(TIME, "ms", _TIME_STEPS),
    "min": Base(TIME, "min", ((60, " min"),)),
    "h": Base(TIME, "h", ((3600, " h"),)),
    "day": Base(TIME, "day", ((86400, " days"),)),
    "deg": Base(ANGLE, "deg", ((1, "°"),)),
    "degC": Base(TEMPERATURE, "degC", ((1, " °C"),)),
    "m/s": Base(SPEED, "m/s", ((1, " m/s"),)),
    "mm2": Base(AREA, "mm2", ((1, " mm²"),)),
    "Hz": Base(FREQUENCY, "Hz", _HERTZ_STEPS),
    "uH": Base(INDUCTANCE, "uH", _HENRY_STEPS),
    "percent": Base(PERCENT, "percent", ((1, " %"),)),
    "count": Base(COUNT, "x", ((1, ""),)),
    "W": Base(POWER, "W", ((1, " W"),)),
    "lux": Base(LIGHT, "lux", ((1, " lux"),)),
    "mm/h": Base(RAIN, "mm/h", ((1, " mm/h"),)),
    "N": Base(FORCE, "N", ((1, " N"),)),
}
