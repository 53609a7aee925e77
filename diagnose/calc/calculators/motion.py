"""Moving leaves and arms: stopping, tip speed, and the ISO 13855 distance by the 2010 method."""

from math import cos, pi, sin
from typing import Annotated

from diagnose.calc import stopping as s
from diagnose.calc.calculator import AskedInput, Rows, Solution, calculator
from diagnose.calc.draw import Lines, bar, bars, table
from diagnose.calc.read import Bare, Quantity, Word
from diagnose.calc.units import format_reading
from diagnose.errors import CalculationError

_SWEEP_STEPS = 6


SECONDS = Quantity("s", 0, 120)
NOT_A_DESIGN = (
    "An aid to diagnosis, not a safety design or a conformity statement: local codes and the qualified person decide."
)


def _m(metres: float) -> str:
    return format_reading(metres, "m")


def _s(seconds: float) -> str:
    return format_reading(seconds, "s")


@calculator(
    "stopping",
    "How far a leaf or arm still moves",
    example="stopping speed=0.3m/s delay=90ms delay=20ms delay=110ms deceleration=0.5m/s2 gap=0.5m",
    formula="Distance = speed times the sum of all delays, plus speed squared over twice the deceleration.",
    source="Elementary kinematics; relay 10-20 ms common practice, no source",
    limits=f"Even braking; worn brakes, wind and a slope lengthen it. {NOT_A_DESIGN}",
    caution="Measure with nobody near the travel; never test a stop with a person.",
)
def stop(
    *,
    speed: Annotated[
        float, AskedInput("Closing speed at the point that matters", "0.3m/s", Quantity("m/s", 0.001, 20))
    ],
    delay: Annotated[
        tuple[float, ...],
        AskedInput("A delay in the chain (scans, filter, relay, controller, drive)", "90ms", SECONDS),
    ],
    deceleration: Annotated[float | None, AskedInput("How hard it brakes", "0.5m/s2", Bare("m/s2", 0.01, 50))] = None,
    braking: Annotated[float | None, AskedInput("Time from full speed to standstill", "0.6s", SECONDS)] = None,
    gap: Annotated[
        float | None,
        AskedInput("Room between the part and the object when it is seen", "0.5m", Quantity("m", 0, 100)),
    ] = None,
) -> Solution:
    """How far a moving part travels after something is seen: m/s, delays in s, m/s2 or braking time in s, m."""
    if deceleration is None:
        if not braking:
            raise CalculationError("Give the braking time from full speed to standstill, or the deceleration.")
        deceleration = speed / braking
    reaction = s.reaction_time_s(0.0, 1, *delay)
    found = s.stopping_distance(speed, reaction, deceleration)
    stops_in = reaction + speed / deceleration
    rows: Rows = (
        ("reaction", f"{_s(reaction)}, {_m(found.reaction_m)}"),
        ("braking", f"{_s(speed / deceleration)}, {_m(found.braking_m)}"),
        ("stands still after", f"{_s(stops_in)}, {_m(found.total_m)}"),
    )
    return Solution(rows, _stop_meaning(found.total_m, gap), _stop_drawing(found, gap))


def _stop_meaning(total_m: float, gap: float | None) -> str:
    if gap is None:
        return f"It moves another {_m(total_m)} after something is seen: the zone must reach at least that far ahead."
    if total_m >= gap:
        return (
            f"It does not stop in time: it would still be moving after {_m(gap)}. Stop using the gate until speed, "
            "delays or the zone are put right."
        )
    return f"It stops {_m(gap - total_m)} short of the object, if every delay given is the longest one."


def _stop_drawing(found: s.Stopping, gap: float | None) -> Lines:
    most = max(found.total_m, gap or 0.0) or 1.0
    rows = [("reaction", found.reaction_m), ("braking", found.braking_m), ("together", found.total_m)]
    if gap is not None:
        rows.append(("room", gap))
    return bars([(label, _m(way), way / most) for label, way in rows])


@calculator(
    "arm_tip",
    "Speed of an arm's tip",
    example="arm_tip radius=3m sweep=90deg time=1.5s",
    formula="Mean = arc (radius times angle) over time; peak = mean times pi / 2 when the speed follows half a sine.",
    source="Elementary kinematics; the half sine is a model",
    limits=f"Drives with ramps peak lower, springs and wind add. {NOT_A_DESIGN}",
    caution="Nobody under or beside the arm while it is timed.",
)
def arm_tip(
    *,
    radius: Annotated[float, AskedInput("From the pivot to the point you watch", "3m", Quantity("m", 0.05, 30))],
    time: Annotated[float, AskedInput("Time of one sweep", "1.5s", Quantity("s", 0.1, 300))],
    sweep: Annotated[float, AskedInput("Angle of the sweep", "90deg", Quantity("deg", 1, 360))] = 90.0,
) -> Solution:
    """Speed of the tip of an arm or leaf: m, s, degrees."""
    mean, peak = s.mean_tip_speed_m_s(radius, sweep, time), s.peak_tip_speed_m_s(radius, sweep, time)
    walking = s.WALKING_MM_S / 1000
    rows: Rows = (
        ("mean speed", f"{mean:.2f} m/s ({mean * 3.6:.1f} km/h)"),
        ("peak speed", f"{peak:.2f} m/s ({peak * 3.6:.1f} km/h)"),
        ("against a brisk walk", f"{peak / walking:.1f} times {walking:g} m/s"),
    )
    meaning = (
        f"The tip moves at up to {peak:.2f} m/s: put this, not the drive's speed, into the stopping calculation, "
        "or take the radius of the point you watch."
    )
    return Solution(rows, meaning, _sweep_drawing(sweep, time, peak))


def _sweep_drawing(sweep: float, time: float, peak: float) -> Lines:
    rows = [("after", "angle", "tip m/s", "")]
    for step in range(_SWEEP_STEPS + 1):
        phase = pi * step / _SWEEP_STEPS
        speed = peak * sin(phase) if step < _SWEEP_STEPS else 0.0
        angle = sweep * (1 - cos(phase)) / 2
        rows.append(
            (_s(round(time * step / _SWEEP_STEPS, 2)), f"{angle:.0f}°", f"{speed:.2f}", " " + bar(speed / peak, 13))
        )
    lines = table([cells[:3] for cells in rows], (9, 7, 9))
    return tuple((line + cells[3]).rstrip() for line, cells in zip(lines, rows, strict=True))


@calculator(
    "iso_13855",
    "Distance from detection to hazard (ISO 13855, 2010 method)",
    example="iso_13855 stop_time=0.32s capability=14mm actual=600mm",
    formula=(
        "S = K times T plus C. Up to 40 mm: K = 2000 mm/s, 1600 mm/s beyond 500 mm, C = 8 (d - 14), never under 100. "
        "Over 40 mm: K = 1600, C = 850. Along the plane: 1600 T + max(1200 - 0.4 H, 850)."
    ),
    source=f"{s.METHOD}, from memory; the 2024 edition has reordered the terms",
    limits=NOT_A_DESIGN,
    caution="For people walking towards a hazard; it does not cover a gate that moves towards them.",
)
def iso_13855(
    *,
    stop_time: Annotated[
        float, AskedInput("From intrusion to standstill, all together", "0.32s", Quantity("s", 0, 60))
    ],
    approach: Annotated[
        str, AskedInput("right_angle or along the plane", "right_angle", Word(("right_angle", "along")))
    ] = "right_angle",
    capability: Annotated[float | None, AskedInput("Detection capability", "14mm", Quantity("mm", 0.1, 70))] = None,
    plane_height: Annotated[
        float | None, AskedInput("Height of a level plane", "300mm", Quantity("mm", 0, 1000))
    ] = None,
    actual: Annotated[float | None, AskedInput("Distance as built", "600mm", Quantity("mm", 0, 50_000))] = None,
) -> Solution:
    """Least distance by the 2010 method: s, mm."""
    if approach == "right_angle":
        if capability is None:
            raise CalculationError("Give the detection capability for an approach at right angles.")
        found = s.safety_distance(stop_time, capability)
    else:
        if plane_height is None:
            raise CalculationError("Give the plane's height for an approach along the plane.")
        found = s.safety_distance_parallel(stop_time, plane_height)
    least = found.distance_mm
    walked = s.WALKING_MM_S * stop_time
    rows: Rows = (
        ("method", found.method),
        ("walked while it stops", f"{walked:.0f} mm at {s.WALKING_MM_S:.0f} mm/s"),
        ("least distance", f"{least:.0f} mm"),
    )
    most = max(least, actual or 0.0) or 1.0
    drawn = [("least", f"{least:.0f} mm", least / most)]
    if actual is not None:
        drawn.append(("actual", f"{actual:.0f} mm", actual / most))
    return Solution(rows, _iso_meaning(least, actual), bars(drawn))


def _iso_meaning(least: float, actual: float | None) -> str:
    if actual is None:
        return f"By the 2010 method the detection would lie at least {least:.0f} mm from the hazard."
    if actual < least:
        return (
            f"By the 2010 method the detection lies {least - actual:.0f} mm too near the hazard: treat it as not "
            "protecting until a qualified person has decided."
        )
    return "By the 2010 method the distance is enough; that alone proves no conformity."
