"""The resistance of a cable."""

from math import inf
from typing import Annotated

from diagnose.calc import cable
from diagnose.calc.calculator import AskedInput, Rows, Solution, calculator
from diagnose.calc.calculators.supply import COPPER, LENGTH, Area, Temp
from diagnose.calc.draw import Lines, table
from diagnose.calc.read import Quantity, Word
from diagnose.calc.units import format_reading as show

COPPER_TOLERANCE = 0.15
"""Share above or below the copper's own resistance that is taken as sound (judgement: stranding 2 %, the
IEC 60228 maximum of flexible conductors 13-16 %, an unknown temperature)."""
TEST_LEAD_OHM = 0.5
"""Test leads and clips of an ordinary meter (judgement)."""


OHM = Quantity("ohm", 0, 1e9, may_be_open=True)


@calculator(
    "cable",
    "Resistance of a cable",
    example="cable length=60m area=0.5mm2 temp=20C measured=4.4ohm",
    formula=(
        "Resistivity times twice the length over the area, plus 0.393 % per kelvin over 20 °C, plus 2 % if stranded."
    ),
    source=(
        f"{COPPER}; +2 % stranded after NEC Chapter 9 Table 8; flexible maximum IEC 60228 class 5 (0.25 and 0.34 mm2 "
        "restated). Sound band: judgement"
    ),
    limits="A meter cannot see a joint that fails only under current: measure the volts under load too.",
    caution="Supply off, both ends taken off the equipment, before measuring ohms.",
)
def cable_resistance(
    *,
    length: Annotated[float, AskedInput("Length of the cable, one way", "60m", LENGTH)],
    area: Area,
    temp: Temp = 20.0,
    strands: Annotated[
        str, AskedInput("Solid or stranded wire", "stranded", Word(("solid", "stranded")))
    ] = "stranded",
    measured: Annotated[float | None, AskedInput("Ohms of the pair with the far ends joined", "4.4ohm", OHM)] = None,
) -> Solution:
    """Resistance of a pair, there and back, far end joined: m, mm2, degC, ohm."""
    per_km = cable.resistance_per_km(area, temp, stranded=strands == "stranded")
    loop = 2 * length / 1000 * per_km
    low, high = loop * (1 - COPPER_TOLERANCE), loop * (1 + COPPER_TOLERANCE) + TEST_LEAD_OHM
    rows: Rows = (
        ("one conductor", f"{show(per_km, 'ohm')} per km"),
        ("loop, far end joined", f"{show(loop, 'ohm')} (sound: {show(low, 'ohm')} to {show(high, 'ohm')})"),
    )
    if area in cable.FLEXIBLE_MAX_OHM_PER_KM:
        most = 2 * length / 1000 * cable.worst_resistance_per_km(area, temp)
        rows += (("most a flexible one may have", show(most, "ohm")),)
    if measured is not None:
        rows += (("measured", show(measured, "ohm")),)
    return Solution(rows, _cable_meaning(measured, low, high, length, loop), _warmth_table(length, area, strands))


def _cable_meaning(measured: float | None, low: float, high: float, length: float, loop: float) -> str:
    if measured is None:
        return "Join the two wires at the far end and measure at the near end: this is what the meter should show."
    if measured == inf:
        return "Open: a wire is broken, or the far ends are not joined."
    if measured > high:
        return "More than the copper has: a corroded or loose joint, a thinner piece, or a longer run than thought."
    if measured < low:
        at = measured / loop * length
        return (
            f"Less than the copper has: the pair touches about {show(at, 'm')} out, or the run is shorter or thicker."
        )
    return "The cable is sound end to end; an intermittent break may still show only when it is moved."


def _warmth_table(length: float, area: float, strands: str) -> Lines:
    def loop(temp: float) -> str:
        return show(2 * length / 1000 * cable.resistance_per_km(area, temp, stranded=strands == "stranded"), "ohm")

    warm = [(show(float(temp), "degC"), loop(temp)) for temp in (-20, 0, 20, 40, 60)]
    return table([("cable at", "loop"), *warm], (12, 14))
