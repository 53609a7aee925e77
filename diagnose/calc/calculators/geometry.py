"""The scan plane: heights, spots, moving parts, and gaps in a vehicle."""

from functools import partial
from math import radians, tan
from typing import Annotated

from diagnose.calc import geometry as g
from diagnose.calc.calculator import AskedInput, Finished, Rows, Solution, calculator
from diagnose.calc.calculators.comparing import compared
from diagnose.calc.draw import Body, Lines, bars, side_view
from diagnose.calc.read import Quantity
from diagnose.calc.units import format_reading
from diagnose.errors import CalculationError
from diagnose.words import say

GAP_SPEEDS_KM_H = (1, 2, 3, 5, 8, 10, 15)
_BEAM_COLUMNS = 38


REACH, HEIGHT = Quantity("m", 0.05, 200), Quantity("m", 0, 20)
FROM, TILT = Quantity("m", 0, 200), Quantity("deg", -80, 80)
FLAT = "Flat ground: add the road's fall to the tilt and its crossfall to the roll. A sloping ramp bends the result."
TRIGONOMETRY = "Plain trigonometry"
FIND_THE_PLANE = (
    "Find the plane with the maker's aid or a card moved slowly up and down; do not look into the window."
)
KEEP_CLEAR = "Nobody stands in the path while the part moves; hold the gate before reaching into it."
Tilt = Annotated[float, AskedInput("Tilt of the plane, down is positive", "1deg", TILT)]


def _m(metres: float) -> str:
    return format_reading(metres, "m")


@calculator(
    "scan_height",
    "Height of the scan plane over the road",
    example="scan_height height=0.25m tilt=1deg roll=2deg distance=5m",
    formula=(
        "Height = mounting height minus distance times tan(tilt). Tilt from two heights = atan of the fall over the "
        "distance between. Roll lifts one side and lowers the other by range times cos(tilt) times sin(roll)."
    ),
    source=TRIGONOMETRY,
    limits=FLAT,
    caution=FIND_THE_PLANE,
)
def scan_height(
    *,
    distance: Annotated[float, AskedInput("How far out the height matters", "5m", REACH)],
    height: Annotated[float | None, AskedInput("Mounting height of the plane", "0.25m", HEIGHT)] = None,
    tilt: Tilt = 0.0,
    roll: Annotated[float, AskedInput("Roll about the sensor's axis", "2deg", TILT)] = 0.0,
    near: Annotated[float | None, AskedInput("Distance of a first measured height", "1m", FROM)] = None,
    near_height: Annotated[float | None, AskedInput("Plane's height measured there", "0.4m", HEIGHT)] = None,
    far: Annotated[float | None, AskedInput("Distance of a second measured height", "4m", FROM)] = None,
    far_height: Annotated[float | None, AskedInput("Plane's height measured there", "0.3m", HEIGHT)] = None,
    target: Annotated[float | None, AskedInput("Top of the lowest thing to be seen", "0.35m", HEIGHT)] = None,
) -> Solution:
    """Height of the plane over flat ground: m and degrees. Two measured heights replace height and tilt."""
    measured = [one for one in (near, near_height, far, far_height) if one is not None]
    if len(measured) == 4:
        tilt = g.tilt_from_heights_deg(*measured)
        height = measured[1] + measured[0] * tan(radians(tilt))
    if height is None or len(measured) not in (0, 4):
        raise CalculationError("Give the mounting height, or all four of near, near_height, far, far_height.")
    sides = [g.height_along_ray_m(height, tilt, roll, azimuth, distance) for azimuth in (-90, 90)]
    there, hit = g.height_over_ground_m(height, tilt, distance), g.ground_hit_m(max(height, 0.0), tilt)
    rows: Rows = (
        ("tilt", f"{tilt:.2f}° {'down' if tilt > 0 else 'up' if tilt < 0 else 'level'}"),
        ("height at the sensor", _m(height)),
        (f"height at {_m(distance)}", _over_road(there)),
        ("meets flat ground", f"at {_m(hit)}" if hit is not None else "never"),
        ("one degree of levelling error", f"moves it {_m(g.height_error_m(distance, 1))} at {_m(distance)}"),
        (f"{_m(distance)} out, 90° to each side", " and ".join(map(_over_road, sides))),
    )
    drawing = side_view(distance, partial(g.height_over_ground_m, height, tilt))
    if min(sides) < 0 and (hit is None or hit > distance):
        return Solution(
            rows, "Straight out it is clear, but one side lies in the road: take out the roll first.", drawing
        )
    return Solution(rows, _height_meaning(there, hit, distance, target), drawing)


def _over_road(height_m: float) -> str:
    return _m(height_m) if height_m >= 0 else "in the road"


def _height_meaning(there: float, hit: float | None, distance: float, target: float | None) -> str:
    if hit is not None and hit <= distance:
        return f"The plane meets the road at {_m(hit)}: it sees the road as an object or ends there. Tilt it up."
    if target is not None and there > target:
        return f"At {_m(distance)} the plane passes {_m(there - target)} over the target: lower it or tilt it down."
    if target is not None:
        return f"At {_m(distance)} the plane cuts the target {_m(target - there)} below its top: seen if wide enough."
    return f"The plane clears the road and is {_m(there)} up at {_m(distance)}; lower things are not seen there."


@calculator(
    "spots",
    "Beam spacing and the smallest sure hit",
    example="spots distance=5m step=0.35deg width=200mm hits=3",
    formula=(
        "Spacing = range times angular step (in radians), over cos(angle off square). A width of n spacings is hit "
        "by at least n beams. Spot = window diameter plus range times divergence."
    ),
    source=TRIGONOMETRY,
    limits=(
        "Beams are taken as points and the surface as bright enough: dark, wet or slanted paint may return no echo."
    ),
)
def spots(
    *,
    distance: Annotated[float, AskedInput("Distance of the object from the sensor", "5m", REACH)],
    step: Annotated[float, AskedInput("Angle between neighbouring beams", "0.35deg", Quantity("deg", 0.01, 20))],
    width: Annotated[float | None, AskedInput("Width of the object", "200mm", Quantity("mm", 1, 20_000))] = None,
    hits: Annotated[float, AskedInput("Beams that must hit", "3", Quantity("count", 1, 1000))] = 1.0,
    incidence: Annotated[float, AskedInput("Angle off square of the surface", "60deg", Quantity("deg", 0, 85))] = 0.0,
    window: Annotated[
        float | None, AskedInput("Spot diameter at the sensor's window", "8mm", Quantity("mm", 0, 100))
    ] = None,
    divergence: Annotated[
        float | None, AskedInput("Full divergence of a beam", "3mrad", Quantity("deg", 0, 10))
    ] = None,
) -> Solution:
    """Spacing of the beams and the smallest sure hit: m, degrees, mm."""
    needed = g.smallest_sure_hit_m(distance, step, int(hits))
    rows: Rows = (
        ("spacing square on", _m(g.spot_spacing_m(distance, step))),
        (f"smallest sure {int(hits)}-beam hit", _m(needed)),
    )
    if incidence:
        rows += ((f"spacing on a surface at {incidence:g}°", _m(g.spot_spacing_m(distance, step, incidence))),)
    if window is not None and divergence is not None:
        rows += (("spot diameter", _m(g.spot_diameter_m(window / 1000, distance, radians(divergence) * 1000))),)
    if width is None:
        meaning = f"Anything narrower than {_m(needed)} at {_m(distance)} may slip between the beams."
        return Solution(rows, meaning, _beams(g.spot_spacing_m(distance, step), needed))
    wide = width / 1000
    sure = g.sure_hits(wide, distance, step)
    rows += (("beams sure to hit the object", str(sure)),)
    return Solution(rows, _spot_meaning(sure, int(hits), distance), _beams(g.spot_spacing_m(distance, step), wide))


def _spot_meaning(sure: int, hits: int, range_m: float) -> str:
    if sure >= hits:
        return f"At {_m(range_m)} at least {sure} beams hit it wherever it stands: a miss has another cause."
    return f"At {_m(range_m)} it can be missed: only {sure} of {hits} beams are sure. Move nearer or scan finer."


def _beams(spacing_m: float, width_m: float) -> Lines:
    """Beams '|' over the object '#', which starts half a spacing in; both to one scale."""
    span = max(4 * spacing_m, 1.5 * width_m)
    beams = [" "] * _BEAM_COLUMNS
    if spacing_m * _BEAM_COLUMNS > span:
        for number in range(int(span / spacing_m) + 1):
            beams[min(round(number * spacing_m / span * (_BEAM_COLUMNS - 1)), _BEAM_COLUMNS - 1)] = "|"
    else:
        beams = ["|"] * _BEAM_COLUMNS
    start = round(spacing_m / 2 / span * (_BEAM_COLUMNS - 1))
    wide = max(round(width_m / span * (_BEAM_COLUMNS - 1)), 1)
    return ("".join(beams).rstrip(), " " * start + "#" * wide, f"{_m(span)} across; # {_m(width_m)} wide")


@calculator(
    "travel",
    "Scan plane against the travel of leaf or arm",
    example="travel height=0.25m tilt=1deg near=1m far=5m bottom=0.3m top=1.5m",
    formula=(
        "The plane's height at both ends of the travel, against the band from the part's bottom to its top. For an "
        "upright plane give offsets from the line of travel in place of heights."
    ),
    source=f"{TRIGONOMETRY}; the margin is judgement",
    limits=FLAT,
    caution=KEEP_CLEAR,
)
def travel(
    *,
    height: Annotated[float, AskedInput("Mounting height of the plane", "0.25m", HEIGHT)],
    near: Annotated[float, AskedInput("Nearest distance of the moving part", "1m", FROM)],
    far: Annotated[float, AskedInput("Farthest distance of the moving part", "5m", FROM)],
    bottom: Annotated[float, AskedInput("Lowest point of the moving part", "0.3m", HEIGHT)],
    top: Annotated[float, AskedInput("Highest point of the moving part", "1.5m", HEIGHT)],
    tilt: Tilt = 0.0,
    margin: Annotated[float, AskedInput("Gap you want to keep", "50mm", Quantity("m", 0, 5))] = 0.05,
) -> Solution:
    """Gap between the scan plane and the band a leaf or arm sweeps: m and degrees."""
    found = g.clearance_to_travel(height, tilt, near, far, bottom, top)
    rows: Rows = (
        ("plane at the near end", _m(g.height_over_ground_m(height, tilt, near))),
        ("plane at the far end", _m(g.height_over_ground_m(height, tilt, far))),
        ("gap to the moving part", f"{_m(found.gap_m)} (wanted {_m(margin)} or more)"),
    )
    if found.crosses:
        meaning = "The moving part cuts the scan and looks like a vehicle: move, tilt or reshape it, then re-teach."
    elif found.gap_m < margin:
        meaning = (
            "Clear, but by too little: wind, play or a settling post brings the part into the scan now and then."
        )
    else:
        meaning = "The moving part stays clear of the scan: a detection while it moves has another cause."
    block = Body(near, far, bottom, top)
    return Solution(rows, meaning, side_view(far * 1.15 or 1.0, partial(g.height_over_ground_m, height, tilt), block))


@calculator(
    "trailer",
    "Time a gap in a vehicle lasts",
    example="trailer gap=1.5m speed=5km/h hold=1s",
    formula="Time = gap over speed.",
    source="Elementary kinematics",
    limits="Constant speed; nobody stops in the gate.",
    caution="Set hold times by trial only with the gate held and nobody in the path.",
)
def trailer(
    *,
    gap: Annotated[float, AskedInput("Length with nothing for the sensor to see (draw-bar)", "1.5m", FROM)],
    speed: Annotated[float, AskedInput("Slowest speed driven", "5km/h", Quantity("m/s", 0.02, 30))],
    hold: Annotated[float | None, AskedInput("Hold time of the output", "1s", Quantity("s", 0, 600))] = None,
) -> Solution:
    """How long a gap in a vehicle stands in front of the sensor: m, m/s, s."""
    lasts = g.gap_time_s(gap, speed)
    rows: Rows = (("gap lasts", format_reading(lasts, "s")),)
    if hold:
        rows += (("slowest speed bridged", f"{gap / hold * 3.6:.1f} km/h"),)
    times = [(f"{kmh} km/h", g.gap_time_s(gap, kmh / 3.6)) for kmh in GAP_SPEEDS_KM_H]
    most = times[0][1] or 1.0
    drawing = bars([(label, format_reading(round(time, 2), "s"), time / most) for label, time in times])
    return Solution(rows, _trailer_meaning(lasts, hold), drawing)


def _trailer_meaning(lasts: float, hold: float | None) -> str:
    if hold is None:
        return "The hold time must be longer than this at the slowest speed people really drive."
    if hold > lasts:
        return "The hold time bridges the gap at this speed; a vehicle that stops with its gap there is still lost."
    return (
        "The gate takes the gap for the end of the vehicle and may close on the trailer: lengthen the hold time or "
        "add a second sensor."
    )


@calculator(
    "scan_level",
    "Heights of the scan straight out and at right angles",
    example="scan_level near=0.3m far=0.36m",
    formula="The height at right angles minus the height straight out, against the tolerance.",
    source="Tolerance: common practice, no source",
    limits=FLAT,
    caution=FIND_THE_PLANE,
    words={
        "level": "as high as straight out, within the tolerance",
        "tilted_up": "higher than the first height",
        "tilted_down": "lower than the first height",
    },
    sound=lambda numbers: [numbers[other] for other in ("near", "far") if other in numbers],
)
def scan_level(
    *,
    near: Annotated[float, AskedInput("Height of the scan straight out", "0.3m", HEIGHT)],
    far: Annotated[float, AskedInput("Height of the scan at right angles, as far out", "0.36m", HEIGHT)],
    tolerance: Annotated[float, AskedInput("Difference that still counts as level", "30mm", HEIGHT)] = 0.03,
) -> Finished:
    """Heights of the scan straight out (near) and at right angles (far)."""
    words = ("tilted_down", "level", "tilted_up")
    return compared(say("calc.height_difference"), far - near, -tolerance, tolerance, words, "m")
