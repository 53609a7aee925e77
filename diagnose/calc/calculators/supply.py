"""Supply at one device and along a run of devices."""

from math import inf
from typing import Annotated

from diagnose.calc import cable, read
from diagnose.calc.cable import Load, Supply, SupplyVerdict
from diagnose.calc.calculator import AskedInput, Rows, Solution, calculator
from diagnose.calc.draw import Lines, bars
from diagnose.calc.read import Quantity
from diagnose.calc.units import format_reading as show
from diagnose.errors import CalculationError

MOST_DEVICES = 40
NEAR_CLIFF_SHARE = 0.75
"""Share of the source below which a constant-power device is called close to the cliff, which is at one half
(algebra of the largest power; the margin is judgement)."""

NO_CABLE = "Whether the cable explains the drop cannot be said without its length and area; compare with the label."

MEANINGS: dict[SupplyVerdict, str] = {
    "none": "No supply arrives: look for a blown fuse, an open wire or a supply that is off, not for a weak one.",
    "low": "The device is under its minimum and cannot be trusted: cure the supply before judging the device.",
    "sags_below_expected": "Less arrives than the copper explains: look for a bad joint, a thinner piece of "
    "cable, another load on the pair, or a source that sags.",
    "good": "The supply at the device is what this cable should leave: look elsewhere for the fault.",
    "high": "Above the device's maximum: take the device off before it is damaged, then correct the source.",
}


VOLTS, ANY_VOLTS = Quantity("V", 0.5, 1000), Quantity("V", -1000, 1000)
LENGTH, TEMP = Quantity("m", 0, 5000), Quantity("degC", -60, 120)
Source = Annotated[float, AskedInput("Volts at the supply's own terminals, under load", "24V", VOLTS)]
Area = Annotated[float, AskedInput("Size of one conductor (mm2 or AWG)", "0.5mm2", Quantity("mm2", 0.01, 100))]
Temp = Annotated[float, AskedInput("Temperature of the cable", "-10C", TEMP)]
Minimum = Annotated[float, AskedInput("Least volts the device may have (its label)", "10V", VOLTS)]
COPPER = "Copper 0.017241 ohm mm2/m at 20 °C (100 % IACS), 0.393 % per kelvin; AWG by ASTM B258"
EXTRA_LOW_ONLY = "For the extra-low-voltage side only; mains terminals are for a licensed electrician."


@calculator(
    "supply",
    "Supply at one device",
    example="supply source=24V length=60m area=0.5mm2 load=5W temp=-10C measured=21.3V",
    formula=(
        "Constant current: source minus current times loop resistance. Constant power: half of (source plus the root "
        "of source squared minus 4 times power times loop); none when the power is over source squared / (4 times "
        "loop)."
    ),
    source=f"{COPPER}; Ohm's law. A supply 5 % under the expected counts as sagging: judgement",
    limits="Ideal solid copper; flexible cable may have 16 % more. A device may draw more while it starts or heats.",
    caution=EXTRA_LOW_ONLY,
)
def supply(
    *,
    source: Source,
    load: Annotated[Load, AskedInput("What the device draws: W if it regulates its supply, else A", "5W", read.load)],
    length: Annotated[float | None, AskedInput("Length of the cable, one way", "60m", LENGTH)] = None,
    area: Area | None = None,
    temp: Temp = 20.0,
    minimum: Minimum | None = None,
    maximum: Annotated[float | None, AskedInput("Most volts the device may have (its label)", "30V", VOLTS)] = None,
    measured: Annotated[
        float | None, AskedInput("Volts at the device while it draws its current", "21.3V", ANY_VOLTS)
    ] = None,
) -> Solution:
    """Supply at one device: V, m, mm2, degC. Without length or area a measured voltage is needed."""
    low, high = minimum or 0.0, maximum if maximum is not None else inf
    if length is None or area is None:
        if measured is None:
            raise CalculationError("Give both length and area, or the volts measured at the device.")
        word = cable.judge_supply(measured, 0.0, low, high)
        meaning = MEANINGS[word] if word != "good" else NO_CABLE
        return Solution(_implied(source, load, measured, None), meaning, _volts(source, None, minimum, measured))
    loop = cable.loop_resistance(length, area, temp)
    found = cable.supply_at_device(source, loop, load)
    results = _expected_rows(loop, found, load)
    if measured is not None:
        results += _implied(source, load, measured, loop)
    return Solution(
        results,
        _supply_meaning(source, load, found, low, high, measured),
        (*_ladder(source, [(length, found, load)], minimum), "", *_volts(source, found, minimum, measured)),
    )


def _expected_rows(loop: float, found: Supply, load: Load) -> Rows:
    rows: Rows = (("loop, there and back", show(loop, "ohm")),)
    if found.starts:
        rows += (("at the device", show(found.device_v, "V")), ("current", show(found.current_a, "A")))
        rows += (("lost in the cable", show(found.drop_v, "V")),)
    else:
        rows += (("at the device", "it cannot start"),)
    if loop and load.kind == "constant power":
        rows += (("most this cable passes", f"{show(found.max_power_w, 'W')}; at more nothing runs"),)
    return rows


def _implied(source: float, load: Load, measured: float, loop: float | None) -> Rows:
    size = abs(measured)
    rows: Rows = (("measured", show(measured, "V")),)
    current = load.current_at(size) if size >= cable.NO_SUPPLY_BELOW_V else 0.0
    if not current or size > source:
        return rows
    ohm = (source - size) / current
    rows += (("measured drop means", f"{show(ohm, 'ohm')} in the loop, if the source is as given"),)
    if loop is not None and ohm > loop:
        rows += (("more than the copper", show(ohm - loop, "ohm")),)
    return rows


def _supply_meaning(source: float, load: Load, found: Supply, low: float, high: float, measured: float | None) -> str:
    if measured is not None:
        word = cable.judge_supply(measured, found.device_v, low, high)
        if word in ("good", "sags_below_expected") and abs(measured) > source:
            return "More arrives than the source is said to give: measure both again with one meter, under load."
        if word == "good" and not found.starts:
            return "Over this cable the device cannot draw its power: volts measured while it is off prove nothing."
        return MEANINGS[word]
    if not found.starts:
        return (
            "This device cannot start over this cable: it clicks, resets or stays dark. Thicker or shorter cable, "
            "a higher source, or a supply beside it."
        )
    if found.device_v < low:
        return "The cable alone takes the device under its minimum: thicker or shorter cable, or a higher source."
    if found.device_v > high:
        return MEANINGS["high"]
    near = load.kind == "constant power" and found.device_v < NEAR_CLIFF_SHARE * source
    warning = " It runs close to the cliff: a little more load or warmth and it stops." if near else ""
    return f"The cable is fit for this device; expect {show(found.device_v, 'V')} at its terminals.{warning}"


def _volts(source: float, found: Supply | None, minimum: float | None, measured: float | None) -> Lines:
    named = [
        ("source", source),
        ("should be", found.device_v if found and found.starts else None),
        ("measured", abs(measured) if measured is not None else None),
        ("minimum", minimum),
    ]
    most = max(volts for _, volts in named if volts is not None)
    return bars([(label, show(volts, "V"), volts / most) for label, volts in named if volts is not None])


def _ladder(source: float, rungs: list[tuple[float, Supply, Load]], minimum: float | None) -> Lines:
    lines, here = [f"source {show(source, 'V')}"], 0.0
    for at, found, load in sorted(rungs, key=lambda rung: rung[0]):
        draws = show(load.amount, "W" if load.kind == "constant power" else "A")
        volts = show(found.device_v, "V") if found.starts else "no start"
        low = " LOW" if found.starts and found.device_v < (minimum or 0.0) else ""
        lines += [
            f"  ||  {show(round(at - here, 6), 'm')}",
            f"  ++--[{draws}]".ljust(16) + f"{volts:>9} at {show(at, 'm')}{low}",
        ]
        here = at
    return tuple(lines)


@calculator(
    "supply_run",
    "Supply along a run of devices",
    example="supply_run source=24V area=0.75mm2 dev=20m:5W dev=60m:0.2A dev=90m:3W minimum=12V",
    formula=(
        "Each stretch of the pair carries the current of every device beyond it; volts fall by that current times "
        "the stretch's loop resistance."
    ),
    source=f"{COPPER}; Kirchhoff's laws",
    limits="One pair, devices teed off without side branches; ideal solid copper.",
    caution=EXTRA_LOW_ONLY,
)
def supply_run(
    *,
    source: Source,
    area: Area,
    dev: Annotated[
        tuple[tuple[float, Load], ...],
        AskedInput("A device: distance from the source, ':', load", "20m:5W", read.device),
    ],
    temp: Temp = 20.0,
    minimum: Minimum | None = None,
) -> Solution:
    """Supply at several devices on one pair: V, mm2, (m, Load) each, degC."""
    if len(dev) > MOST_DEVICES:
        raise CalculationError(f"At most {MOST_DEVICES} devices on one run.")
    found = cable.supplies_along_run(source, area, dev, temp)
    drawing = _ladder(source, [(at, one, load) for (at, load), one in zip(dev, found, strict=True)], minimum)
    if not all(one.starts for one in found):
        return Solution(
            (("devices", str(len(dev))), ("result", "they cannot all start")),
            "This run cannot carry them all: they reset one another or stay dark. Thicker cable, a higher source, "
            "or a second feed.",
            drawing,
        )
    worst = min(range(len(dev)), key=lambda place: found[place].device_v)
    total = sum(one.current_a for one in found)
    rows = (
        ("devices", str(len(dev))),
        ("current from the source", show(total, "A")),
        ("lowest", f"{show(found[worst].device_v, 'V')} at {show(dev[worst][0], 'm')}"),
        ("most lost", show(found[worst].drop_v, "V")),
    )
    return Solution(rows, _run_meaning(found[worst].device_v, minimum), drawing)


def _run_meaning(lowest: float, minimum: float | None) -> str:
    if minimum is None:
        return "All devices start; compare the lowest volts with the minimum on each device's label."
    if lowest < minimum:
        return "At least one device is under its minimum: expect it to fail first when the others draw their most."
    return "Every device gets its minimum: what is measured should match this ladder rung by rung."
