"""Copper cable: resistance, what voltage arrives at a device, and what a measured voltage means.

Sources: ASTM B258 (AWG diameters), 100 % IACS copper 0.017241 Ω·mm²/m at 20 °C, temperature coefficient
0.00393 per kelvin. Lengths are one-way route lengths in metres; the loop is there and back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt
from typing import Literal

from diagnose.calc._checks import not_negative, positive
from diagnose.errors import CalculationError

COPPER_OHM_MM2_PER_M = 0.017241
COPPER_PER_KELVIN = 0.00393
COPPER_ZERO_C = 20 - 1 / COPPER_PER_KELVIN
SMALLEST_AWG, LARGEST_AWG = 0, 40

STRANDED_FACTOR = 1.02
"""A stranded conductor has about 2 % more resistance than a solid one (NEC Chapter 9 Table 8)."""

NO_SUPPLY_BELOW_V = 0.5
"""Below this a supply counts as absent (judgement: induced and meter residue stays under it)."""

EXPECTED_TOLERANCE = 0.05
"""A supply this share below what the cable should leave is a fault (judgement: covers +2 % stranding,
supply setting and meter error)."""

FLEXIBLE_MAX_OHM_PER_KM = {
    0.25: 79.0,
    0.34: 57.0,
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
}
"""mm² -> largest Ω/km allowed at 20 °C: IEC 60228 plain copper class 5; 0.25 and 0.34 mm² are not in it and
come from a restatement of VDE 0295 (column uncertain, the higher value is taken)."""

LoadKind = Literal["constant current", "constant power"]
SupplyVerdict = Literal["none", "low", "sags_below_expected", "good", "high"]


@dataclass(frozen=True, slots=True)
class Supply:
    """What arrives at a device: volts, amperes drawn, volts lost; `starts` is False when it cannot run."""

    starts: bool
    device_v: float
    current_a: float
    drop_v: float
    max_power_w: float


@dataclass(frozen=True, slots=True)
class Load:
    """A device on a run: `amount` in amperes or watts according to `kind`."""

    kind: LoadKind
    amount: float

    def current_at(self, volts: float) -> float:
        """Amperes drawn at `volts`."""
        return self.amount if self.kind == "constant current" else self.amount / volts


def awg_diameter_mm(gauge: int) -> float:
    """Diameter in mm of a solid AWG conductor: 0.127 mm times 92^((36 - gauge)/39) (ASTM B258)."""
    if not SMALLEST_AWG <= gauge <= LARGEST_AWG:
        raise CalculationError(f"AWG {gauge} is outside {SMALLEST_AWG} to {LARGEST_AWG}.")
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_area_mm2(gauge: int) -> float:
    """Cross-section in mm² of a solid AWG conductor (ASTM B258)."""
    return pi / 4 * awg_diameter_mm(gauge) ** 2


def resistance_per_km(area_mm2: float, temp_c: float = 20.0, *, stranded: bool = False) -> float:
    """Ω per km of one copper conductor, nominal: what should be measured.

    Resistivity over area, plus 0.393 % per kelvin above 20 °C, plus 2 % when stranded.
    """
    nominal = 1000 * COPPER_OHM_MM2_PER_M / positive(area_mm2, "cross-section")
    return nominal * _warmth(temp_c) * (STRANDED_FACTOR if stranded else 1.0)


def worst_resistance_per_km(area_mm2: float, temp_c: float = 20.0) -> float:
    """Largest Ω per km a flexible conductor of a listed size may have: use it for 'can this cable fail'."""
    if area_mm2 not in FLEXIBLE_MAX_OHM_PER_KM:
        sizes = ", ".join(map(str, FLEXIBLE_MAX_OHM_PER_KM))
        raise CalculationError(f"No largest resistance is listed for {area_mm2} mm²; sizes: {sizes}.")
    return FLEXIBLE_MAX_OHM_PER_KM[area_mm2] * _warmth(temp_c)


def _warmth(temp_c: float) -> float:
    if not temp_c > COPPER_ZERO_C:
        raise CalculationError(f"{temp_c} °C is outside the range of the copper rule.")
    return 1 + COPPER_PER_KELVIN * (temp_c - 20)


def loop_resistance(length_m: float, area_mm2: float, temp_c: float = 20.0) -> float:
    """Ω of a pair of conductors, there and back, `length_m` long one way."""
    return 2 * not_negative(length_m, "cable length") / 1000 * resistance_per_km(area_mm2, temp_c)


def supply_constant_current(source_v: float, loop_ohm: float, current_a: float) -> Supply:
    """Supply at a device that draws `current_a` whatever the voltage: source minus current times loop."""
    _check_source(source_v, loop_ohm, current_a)
    drop = current_a * loop_ohm
    limit = _max_power(source_v, loop_ohm)
    if drop >= source_v:
        return Supply(False, 0.0, 0.0, source_v, limit)
    return Supply(True, source_v - drop, current_a, drop, limit)


def supply_constant_power(source_v: float, loop_ohm: float, power_w: float) -> Supply:
    """Supply at a device with a switching regulator: V = (Vs + √(Vs² - 4·P·R)) / 2, none above Vs²/4R."""
    _check_source(source_v, loop_ohm, power_w)
    limit = _max_power(source_v, loop_ohm)
    if power_w > limit:
        return Supply(False, 0.0, 0.0, source_v, limit)
    device_v = (source_v + sqrt(max(source_v**2 - 4 * power_w * loop_ohm, 0.0))) / 2
    return Supply(True, device_v, power_w / device_v, source_v - device_v, limit)


def supply_at_device(source_v: float, loop_ohm: float, load: Load) -> Supply:
    """Supply at one device for either kind of load."""
    if load.kind == "constant current":
        return supply_constant_current(source_v, loop_ohm, load.amount)
    return supply_constant_power(source_v, loop_ohm, load.amount)


def _max_power(source_v: float, loop_ohm: float) -> float:
    return source_v**2 / (4 * loop_ohm) if loop_ohm else float("inf")


def _check_source(source_v: float, loop_ohm: float, load: float) -> None:
    positive(source_v, "source voltage")
    not_negative(loop_ohm, "loop resistance")
    not_negative(load, "load")


def supplies_along_run(
    source_v: float, area_mm2: float, loads: Sequence[tuple[float, Load]], temp_c: float = 20.0
) -> tuple[Supply, ...]:
    """Supply at each (distance in m, load) on one pair, in the order given.

    Each stretch carries the current of all devices beyond it (Kirchhoff). Found by sweeping from a full
    supply downwards until it settles; when no steady state exists every device reports starts=False.
    """
    order = sorted(range(len(loads)), key=lambda index: loads[index][0])
    ends = [0.0] + [loads[index][0] for index in order]
    stretches = [loop_resistance(far - near, area_mm2, temp_c) for near, far in pairwise(ends)]
    ordered = [loads[index][1] for index in order]
    for stretch, load in zip(stretches, ordered, strict=True):
        _check_source(source_v, stretch, load.amount)
    volts = _settle(source_v, stretches, ordered)
    total = [sum(stretches[: position + 1]) for position in range(len(order))]
    found = {
        index: _on_run(source_v, total[place], ordered[place], volts[place] if volts else None)
        for place, index in enumerate(order)
    }
    return tuple(found[index] for index in range(len(loads)))


def _on_run(source_v: float, loop_ohm: float, load: Load, volts: float | None) -> Supply:
    limit = _max_power(source_v, loop_ohm)
    if volts is None:
        return Supply(False, 0.0, 0.0, source_v, limit)
    return Supply(True, volts, load.current_at(volts), source_v - volts, limit)


def _settle(source_v: float, stretches: Sequence[float], loads: Sequence[Load]) -> list[float] | None:
    volts = [source_v] * len(loads)
    for _ in range(10_000):
        currents = [load.current_at(at) for load, at in zip(loads, volts, strict=True)]
        swept = _sweep(source_v, stretches, currents)
        if min(swept, default=source_v) <= 0:
            return None
        if all(abs(new - old) < 1e-10 for new, old in zip(swept, volts, strict=True)):
            return swept
        volts = swept
    return None


def _sweep(source_v: float, stretches: Sequence[float], currents: Sequence[float]) -> list[float]:
    volts, here = [], source_v
    for place, ohm in enumerate(stretches):
        here -= ohm * sum(currents[place:])
        volts.append(here)
    return volts


def judge_supply(measured_v: float, expected_v: float, minimum_v: float, maximum_v: float) -> SupplyVerdict:
    """What a voltage measured at the device, while it draws its current, means.

    `expected_v` is what the cable should leave; minimum and maximum are the device's limits. In this order:
    none (under 0.5 V) · low (under the minimum) · high (over the maximum) · sags_below_expected (more than
    5 % under the expected value: added resistance, wrong conductor, extra load) · good.
    """
    if minimum_v > maximum_v:
        raise CalculationError("The device's minimum supply is above its maximum.")
    size = abs(measured_v)
    if size < NO_SUPPLY_BELOW_V:
        return "none"
    if size < minimum_v:
        return "low"
    if size > maximum_v:
        return "high"
    return "sags_below_expected" if size < expected_v * (1 - EXPECTED_TOLERANCE) else "good"
