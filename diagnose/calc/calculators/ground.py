"""Inductive loops and resistive safety edges."""

from math import inf
from typing import Annotated

from diagnose.calc import cable, edges, loops
from diagnose.calc.calculator import AskedInput, Finished, Rows, Solution, calculator
from diagnose.calc.draw import Lines
from diagnose.calc.edges import TERMINATOR_OHM, EdgeVerdict, EdgeWindow
from diagnose.calc.read import Quantity
from diagnose.calc.units import format_reading
from diagnose.words import say

LOOP_MEANINGS = {
    "good": "the copper is sound",
    "shorted": "turns or the lead-in touch: the loop is too small to see with",
    "high": "a bad joint or the wrong cable: re-make the splice",
    "open": "a wire is broken: no detector can work on it",
}
EDGE_MEANINGS: dict[EdgeVerdict, str] = {
    "healthy": "The edge is healthy and not pressed: press it and see the reading fall near zero.",
    "pressed_or_short": "Pressed or shorted, which look alike: free it; if it stays, find the crushed cable.",
    "open": "Open: a broken wire, a torn edge or a missing end resistor. The gate must not close on its own.",
    "two_terminators_in_parallel": "Two end resistors in parallel: wire the edges in series with one at the end.",
    "leakage": "A path beside the resistor, mostly moisture in the edge or a joint: dry it out or replace the edge.",
    "added_resistance": "Resistance in series, mostly a corroded joint: re-make the joints, then measure again.",
}


OHM = Quantity("ohm", 0, 1e12, may_be_open=True)
SIDE = Quantity("m", 0.1, 100)
LOOP_EXCESS_OHM = 1.0  # above what the copper explains; judgement
OPEN_LOOP_OHM = 200.0
WIRE_MM2 = cable.awg_area_mm2(14)  # what loops are mostly laid with
EDGE_WORDS = {"two_terminators_in_parallel": "two_terminators", "leakage": "leaking", "added_resistance": "open"}
ISOLATE = (
    "Take the loop off the detector before measuring; a 500 V insulation test must never reach a detector or a "
    "safety input, and nobody touches the ends during it."
)


@calculator(
    "loop",
    "An inductive loop: what it should measure",
    example="loop long=2.4m short=1.2m turns=4 lead_in=15m area=14AWG measured=0.6ohm insulation=120Mohm",
    formula=(
        "Inductance in microhenries = a quarter of the perimeter in feet times (turns squared + turns), lead-in 22 "
        "per 100 ft. Q = 2 pi times frequency times inductance over resistance. Frequency moves about minus half as "
        "much as inductance. Height = two thirds of the short side."
    ),
    source=(
        "Inductance and height: trade rules, from memory; 5 ohm or Q 5: a US city supplement; 50 megohm: a US state "
        "rule; 100 and 1 megohm: common practice, no source; 1 ohm over the copper: judgement"
    ),
    limits=(
        "The inductance rule is good to ±20 %; steel mesh under the loop lowers inductance and height (common "
        "practice, no source)."
    ),
    caution=ISOLATE,
)
def loop(
    *,
    long: Annotated[float, AskedInput("Long side of the loop", "2.4m", SIDE)],
    short: Annotated[float, AskedInput("Short side of the loop", "1.2m", SIDE)],
    turns: Annotated[float, AskedInput("Turns of wire", "4", Quantity("count", 1, 30))],
    lead_in: Annotated[float, AskedInput("Length of the lead-in", "15m", Quantity("m", 0, 1000))] = 0.0,
    area: Annotated[float, AskedInput("Wire size", "14AWG", Quantity("mm2", 0.05, 20))] = WIRE_MM2,
    measured: Annotated[float | None, AskedInput("Series resistance at the lead-in's end", "0.6ohm", OHM)] = None,
    insulation: Annotated[float | None, AskedInput("Insulation to earth at 500 V", "120Mohm", OHM)] = None,
    inductance: Annotated[float | None, AskedInput("Measured inductance", "90uH", Quantity("uH", 1, 1e5))] = None,
    change: Annotated[
        float, AskedInput("Change of inductance by a vehicle", "-1%", Quantity("percent", -50, 50))
    ] = -1.0,
) -> Solution:
    """A loop from its sides (m), turns, lead-in (m) and wire (mm2); ohm, ohm, microhenry, per cent measured."""
    perimeter = 2 * (long + short)
    loop_uh, lead_uh = loops.loop_inductance_uh(perimeter, int(turns)), loops.lead_in_inductance_uh(lead_in)
    total = inductance if inductance is not None else loop_uh + lead_uh
    ohm = _copper_ohm(turns, perimeter, lead_in, area)
    series = measured if measured is not None and 0 < measured < inf else ohm
    quality = loops.quality_factor(total, series)
    rows: Rows = (
        ("loop", f"{_uh(loop_uh)} ±{loops.INDUCTANCE_TOLERANCE:.0%}, lead-in {_uh(lead_uh)}"),
        ("series resistance", f"{format_reading(ohm, 'ohm')} by its copper"),
        (
            "Q at 50 kHz",
            f"{quality:.1f} (fine: {loops.SMALLEST_Q:g} up, or {loops.LARGEST_SERIES_OHM:g} ohm at most)",
        ),
        (f"{change:g} % inductance", f"shifts the frequency {loops.frequency_shift(change / 100):+.2%}"),
        ("sees a floor up to", f"{format_reading(loops.detection_height_m(short), 'm')} high"),
    )
    rows += _measured_rows(inductance, loop_uh + lead_uh, measured, insulation)
    says = _loop_says(perimeter, turns, lead_in, area, measured, insulation, total, series)
    if inductance is not None and abs(inductance / (loop_uh + lead_uh) - 1) > loops.INDUCTANCE_TOLERANCE:
        says.append("the inductance is not what these turns give: count them, look for touching turns or steel")
    if lead_uh > loop_uh:
        says.append("the lead-in has more inductance than the loop: shorten it or add turns")
    return Solution(rows, _sentence(says), _loop_drawing(long, short, int(turns), lead_in))


def _uh(microhenry: float) -> str:
    return format_reading(round(microhenry, 1), "uH")


def _measured_rows(
    inductance: float | None, expected_uh: float, measured: float | None, insulation: float | None
) -> Rows:
    rows: Rows = ()
    if inductance is not None:
        rows += (("measured inductance", f"{_uh(inductance)} against {_uh(expected_uh)}"),)
    if measured is not None:
        rows += (("measured resistance", format_reading(measured, "ohm")),)
    if insulation is not None:
        rows += (("insulation", f"{format_reading(insulation, 'ohm')}: {loops.judge_insulation(insulation / 1e6)}"),)
    return rows


def _loop_says(
    perimeter: float,
    turns: float,
    lead_in: float,
    area: float,
    measured: float | None,
    insulation: float | None,
    total_uh: float,
    series: float,
) -> list[str]:
    says = []
    if measured is not None:
        word = _loop_word(measured, _copper_ohm(turns, perimeter, lead_in, area))
        says.append(LOOP_MEANINGS[word])
        if word == "good" and not loops.series_resistance_is_fine(series, total_uh):
            says.append("yet its resistance is high for its inductance: the detector may be dull")
    if insulation is not None:
        word = loops.judge_insulation(insulation / 1e6)
        bad = word in ("suspect", "failed")
        says.append(f"insulation {word}" + (": drift and phantom calls in the wet come from here" if bad else ""))
    return says


def _sentence(says: list[str]) -> str:
    if not says:
        return "This is what a sound loop shows; measure it with the detector taken off and compare."
    return "; ".join(says).capitalize() + "."


def _loop_drawing(long: float, short: float, turns: int, lead_in: float) -> Lines:
    return (
        "  +" + f" {format_reading(long, 'm')} ".center(20, "-") + "+",
        f"  |{f'{turns} turns':^20}| {format_reading(short, 'm')}",
        "  +" + "--++".ljust(20, "-") + "+",
        f"      || twisted lead-in {format_reading(lead_in, 'm')}",
        "      detector",
    )


@calculator(
    "edge",
    "Resistance of a safety edge",
    example="edge measured=4.1kohm terminator=8.2kohm",
    formula=(
        "The reading against the end resistor, half of it, and the limits for pressed and open. Leak = reading times "
        "resistor over (resistor minus reading)."
    ),
    source="8.2 kohm: common practice, no source; limits: judgement, the evaluator's manual decides",
    limits=(
        "Low-ohm meters and damp fingers disturb: measure with the edge off its evaluator and hands off the probes."
    ),
    caution="Gate stopped and held; while an edge is faulty only hold-to-run with the travel in view.",
)
def edge(
    *,
    measured: Annotated[float, AskedInput("Resistance at the edge's two wires, OL if over range", "4.1kohm", OHM)],
    terminator: Annotated[
        float, AskedInput("Its end resistor", "8.2kohm", Quantity("ohm", 10, 1e6))
    ] = TERMINATOR_OHM,
    tolerance: Annotated[
        float, AskedInput("Tolerance of the evaluator's window", "5%", Quantity("percent", 0.1, 33))
    ] = 5.0,
    pressed: Annotated[
        float, AskedInput("Below this it counts as pressed", "1kohm", Quantity("ohm", 0.1, 1e6))
    ] = 1000.0,
    open: Annotated[
        float, AskedInput("Above this it counts as open", "100kohm", Quantity("ohm", 10, 1e8))
    ] = 100_000.0,
) -> Solution:
    """Resistance class of a safety edge: ohm, per cent."""
    window = EdgeWindow(terminator, tolerance / 100, pressed, open)
    word = edges.classify_edge(measured, window)
    rows: Rows = (
        ("measured", _ohm(measured)),
        ("class", word.replace("_", " ")),
        ("resistors in parallel", ", ".join(f"{count}: {_ohm(terminator / count)}" for count in (2, 3, 4))),
    )
    if word == "leakage":
        rows += (("leak beside the resistor", _ohm(edges.leak_path_ohm(measured, terminator))),)
    if word == "added_resistance":
        rows += (("added in series", _ohm(measured - terminator)),)
    return Solution(rows, EDGE_MEANINGS[word], _bands(window, measured))


def _ohm(ohm: float) -> str:
    return format_reading(ohm, "ohm")


def _bands(window: EdgeWindow, measured: float) -> Lines:
    """The classes from low to high, the measured one marked; each band is named by classifying its middle."""
    half = window.terminator_ohm / 2
    low, high = 1 - window.tolerance, 1 + window.tolerance
    limits = [0.0, window.pressed_below_ohm, half * low, half * high]
    limits += [window.terminator_ohm * low, window.terminator_ohm * high, window.open_above_ohm]
    lines = []
    for start, end in zip(limits, [*limits[1:], inf], strict=True):
        word = edges.classify_edge((start + end) / 2, window)
        mark = ">" if start <= measured <= end and word == edges.classify_edge(measured, window) else " "
        name = "two in parallel" if word == "two_terminators_in_parallel" else word.replace("_", " ")
        lines.append(f"{mark} {_ohm(start):>9} and up  {name}")
    return tuple(reversed(lines))


@calculator(
    "insulation",
    "Loop or cable insulation to earth",
    words={"good": "50 Mohm or more", "suspect": "", "failed": ""},
)
def insulation(*, mohm: Annotated[float, "Mohm"]) -> Finished:
    """Insulation to earth at 500 V DC."""
    word = loops.judge_insulation(mohm)
    says = say("calc.insulation", ohm=f"{mohm:g}", judged=say(f"calc.insulation_{word}"))
    return Finished("good" if word == "acceptable" else word, says)


@calculator(
    "loop_resistance",
    "Series resistance of a loop with its lead-in against what the copper should have",
    words={
        "good": "what the copper should have",
        "shorted": "under a third of what the copper should have",
        "high": "clearly more than the copper should have",
        "open": "no connection",
    },
    sound=lambda numbers: (_copper_ohm(**{p: numbers[p] for p in ("turns", "perimeter", "lead_in", "area")}),),
)
def loop_resistance(
    *,
    measured: Annotated[float, "ohm"],
    turns: Annotated[float, "count"] = 3,
    perimeter: Annotated[float, "m"] = 8.0,
    lead_in: Annotated[float, "m"] = 15.0,
    area: Annotated[float, "mm2"] = WIRE_MM2,
) -> Finished:
    """Series resistance against the copper of loop and lead-in."""
    expected = _copper_ohm(turns, perimeter, lead_in, area)
    says = say("calc.loop", measured=f"{measured:.2f}", expected=f"{expected:.2f}")
    return Finished(_loop_word(measured, expected), says)


def _copper_ohm(turns: float, perimeter: float, lead_in: float, area: float) -> float:
    return cable.loop_resistance(lead_in + perimeter * turns / 2, area)


def _loop_word(measured: float, expected: float) -> str:
    if measured > OPEN_LOOP_OHM:
        return "open"
    if measured > expected + LOOP_EXCESS_OHM and measured > loops.LARGEST_SERIES_OHM / 2:
        return "high"
    return "shorted" if measured < 0.3 * expected else "good"


@calculator(
    "edge_resistance",
    "Resistance of a resistor-terminated safety edge",
    words={
        "healthy": "the terminator's value",
        "leaking": "somewhat under the terminator's value",
        "two_terminators": "half the terminator's value",
        "pressed_or_short": "next to nothing",
        "open": "far over the terminator's value",
    },
    sound=lambda numbers: (numbers["terminator"],),
)
def edge_resistance(
    *, measured: Annotated[float, "ohm"], terminator: Annotated[float, "ohm"] = TERMINATOR_OHM
) -> Finished:
    """Resistance of a terminated edge."""
    word = edges.classify_edge(measured, EdgeWindow(terminator_ohm=terminator))
    named = {"measured": f"{measured:g}", "terminator": f"{terminator:g}", "found": say(f"calc.edge_{word}")}
    return Finished(EDGE_WORDS.get(word, word), say("calc.edge", **named))
