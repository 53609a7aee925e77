"""Volts as measured: at the device, and while the drive starts."""

from math import inf
from typing import Annotated

from diagnose.calc import cable
from diagnose.calc.calculator import AskedInput, Finished, Numbers, calculator
from diagnose.calc.read import Quantity
from diagnose.errors import CalculationError
from diagnose.words import say

ASSUMED_RUN_DROP = 0.10  # share of the source a run of unknown length may lose before it is called a fault
USUAL_V, USUAL_W = 24.0, 5.0  # where a made-up installation needs them
SUPPLY = Quantity("V", 0, 1000)
Volts = Annotated[float, "V"]


def _left_by_the_cable(numbers: Numbers) -> list[float]:
    source = numbers.get("source") or numbers.get("minimum", USUAL_V / 1.3) * 1.3
    if "area" not in numbers or not numbers.get("length"):
        return [source]
    loop = cable.loop_resistance(numbers["length"], numbers["area"])
    supply = cable.supply_constant_power(source, loop, numbers.get("load_w", USUAL_W))
    return [supply.device_v if supply.starts else source]


@calculator(
    "supply_at_device",
    "Measured supply against limits and against what the cable should leave",
    words={
        "good": "what the supply and the cable should leave",
        "high": "over the device's highest supply voltage",
        "below_expected": "less than supply and cable should leave, yet enough for the device",
        "low": "under the device's lowest supply voltage",
        "none": "as good as nothing",
    },
    sound=_left_by_the_cable,
)
def supply_at_device(
    *,
    measured: Volts,
    source: Volts | None = None,
    length: Annotated[float | None, "m"] = None,
    area: Annotated[float | None, "mm2"] = None,
    load_w: Annotated[float | None, "W"] = None,
    load_a: Annotated[float | None, "A"] = None,
    minimum: Volts | None = None,
    maximum: Volts | None = None,
    temperature: Annotated[float, "degC"] = 20.0,
) -> Finished:
    """Measured volts against the device's limits and what the cable should leave.

    With the source unknown only the limits judge; with both unknown there is nothing to judge by.
    """
    if source is None and minimum is None and abs(measured) >= cable.NO_SUPPLY_BELOW_V:
        raise CalculationError("neither the source volts nor the device's minimum is known")
    low = minimum if minimum is not None else 0.85 * (source or 0.0)
    high = maximum if maximum is not None else 1.25 * source if source is not None else inf
    expected, how = _expected_supply(source, length, area, load_w, load_a, temperature)
    word = cable.judge_supply(measured, expected, low, high)
    named = {"measured": f"{measured:.1f}", "how": how, "low": f"{low:.1f}", "high": f"{high:.1f}"}
    return Finished("below_expected" if word == "sags_below_expected" else word, say("calc.supply", **named))


def _expected_supply(
    source: float | None,
    length: float | None,
    area: float | None,
    load_w: float | None,
    load_a: float | None,
    temp_c: float,
) -> tuple[float, str]:
    if source is None:
        return 0.0, say("calc.source_not_known")
    if length == 0:
        return source, say("calc.source_wanted", source=f"{source:.1f}")
    if length is None or area is None or (load_w is None and load_a is None):
        expected = source * (1.0 - ASSUMED_RUN_DROP)
        return expected, say("calc.unknown_run", source=f"{source:.1f}", left=f"{expected:.1f}")
    load = (
        cable.Load("constant power", load_w) if load_w is not None else cable.Load("constant current", load_a or 0.0)
    )
    supply = cable.supply_at_device(source, cable.loop_resistance(length, area, temp_c), load)
    run = {"source": f"{source:.1f}", "length": f"{length:g}", "area": f"{area:g}"}
    if not supply.starts:
        return 0.0, say("calc.cannot_start", **run)
    return supply.device_v, say("calc.should_leave", **run, left=f"{supply.device_v:.1f}")


@calculator(
    "sag",
    "Supply idle against supply with the drive starting",
    example="sag idle=24V loaded=20.5V minimum=10V",
    formula="Share lost = volts at rest minus volts while starting, over the volts at rest.",
    source="A tenth as a sag, and 80 % of the volts at rest where the minimum is not known: judgement",
    limits="A meter shows the mean: a dip shorter than its reading time stays unseen.",
    caution="Keep clear of the gate while it starts; extra-low-voltage side only.",
    words={
        "steady": "falls by no more than a tenth",
        "sags": "falls by more than a tenth, yet enough for the device",
        "drops_out": "falls under the device's lowest supply voltage",
    },
    sound=lambda numbers: (numbers.get("idle", USUAL_V),),
)
def sag(
    *,
    idle: Annotated[float, AskedInput("Volts with the drive at rest", "24V", SUPPLY)],
    loaded: Annotated[float, AskedInput("Volts while the drive starts", "20.5V", SUPPLY)],
    minimum: Annotated[float | None, AskedInput("Least volts the device may have (its label)", "10V", SUPPLY)] = None,
) -> Finished:
    """Supply idle against supply with the drive starting."""
    drop = (idle - loaded) / idle if idle > 0 else 0.0
    low = minimum if minimum is not None else 0.8 * idle
    share = say("session.percent", number=f"{100 * drop:.0f}")
    says = say("calc.sag", idle=f"{idle:.1f}", loaded=f"{loaded:.1f}", drop=share, low=f"{low:.1f}")
    if loaded < low:
        return Finished("drops_out", says)
    return Finished("sags" if drop > 0.10 else "steady", says)
