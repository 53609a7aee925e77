"""Fog, rain and snow on an optical path: could the weather alone explain it?"""

from typing import Annotated

from diagnose.calc import weather as w
from diagnose.calc.calculator import AskedInput, Rows, Solution, calculator
from diagnose.calc.draw import Lines, bars
from diagnose.calc.read import Bare, Quantity, Word
from diagnose.calc.units import format_reading
from diagnose.errors import CalculationError

HARMLESS_SHARE, CRITICAL_SHARE = 0.8, 0.3
"""Share of light left above which weather is a poor explanation, below which a good one (judgement)."""
_SHARES = (0.25, 0.5, 0.75, 1.0)
_REFERENCE_NM = 550.0  # the fog law's reference: there light is lost as 3.91 / visibility


Distance = Annotated[
    float, AskedInput("Distance from sensor to target or between units", "10m", Quantity("m", 0.1, 500))
]
SIGHT = Quantity("m", 5, 50_000)
Wavelength = Annotated[float, AskedInput("Wavelength of the light", "905nm", Bare("nm", 400, 2000))]
Path = Annotated[
    str,
    AskedInput(
        "there_and_back (scanner, reflector) or one_way (two units)",
        "one_way",
        Word(("there_and_back", "one_way")),
    ),
]
JUDGED = "shares of light called harmless (80 %) and critical (30 %): judgement"
PLAUSIBILITY = "A plausibility figure, not a prediction: it does not know the sensor's own reserve."


def _left(per_m: float, distance: float, path: str) -> float:
    return w.two_way_transmission(per_m, distance if path == "there_and_back" else distance / 2)


def _light_left(per_m: float, distance: float, path: str) -> Lines:
    lefts = [(distance * share, _left(per_m, distance * share, path)) for share in _SHARES]
    return ("light left at", *bars([(f"{format_reading(at, 'm')}", f"{left:.0%}", left) for at, left in lefts]))


def _meaning(share: float, weather: str, look_for: str) -> str:
    if share >= HARMLESS_SHARE:
        return f"{weather} in the air takes too little to matter at this distance: {look_for}."
    if share > CRITICAL_SHARE:
        return (
            f"{weather} weakens the light: a clean, aligned sensor copes, a marginal one may fail. First {look_for}."
        )
    return f"{weather} like this can blind the sensor by itself: only a shorter path or another kind of sensor helps."


@calculator(
    "fog",
    "Could fog explain it?",
    example="fog visibility=50m distance=10m wavelength=905nm",
    formula=(
        "Loss per metre = 3.91 / visibility times (wavelength / 550 nm) to the power -q; light left = exp(-loss "
        "times path). The fog's own echo is compared with a solid target's in one pulse length."
    ),
    source=f"Kim et al. 2001 (q is 0 below 500 m) and Kruse; backscatter after Rasshofer 2011; {JUDGED}",
    limits=f"Even fog; the echo figure ignores attenuation. Your eye's visibility is 1.31 times MOR. {PLAUSIBILITY}",
)
def fog(
    *,
    visibility: Annotated[float, AskedInput("How far a dark object can be seen", "50m", SIGHT)],
    distance: Distance,
    seen_as: Annotated[
        str, AskedInput("visibility (your eye) or mor (weather service)", "mor", Word(("visibility", "mor")))
    ] = "visibility",
    wavelength: Wavelength = 905.0,
    path: Path = "there_and_back",
    pulse: Annotated[float, AskedInput("Length of the light pulse", "5ns", Bare("ns", 0.1, 1000))] = 5.0,
    reflectivity: Annotated[
        float, AskedInput("Weakest target it must see", "5%", Quantity("percent", 0.1, 100))
    ] = 5.0,
) -> Solution:
    """Fog: m, nm, ns, per cent. `seen_as` mor means the weather service's figure."""
    sight = w.visibility_from_mor_m(visibility) if seen_as == "mor" else visibility
    mor = sight / w.VISIBILITY_PER_MOR
    per_m = w.fog_extinction_per_m(sight, wavelength)
    left = _left(per_m, distance, path)
    rows: Rows = (
        ("light lost", f"{w.db_per_km(per_m):.3g} dB per km ({_kruse(sight, wavelength)} by Kruse)"),
        ("light left", f"{left:.0%} over {format_reading(distance, 'm')} {path.replace('_', ' ')}"),
    )
    if path == "there_and_back":
        echo = w.fog_echo_share_of_range(mor, pulse, reflectivity / 100)
        rows += (("fog itself may echo", f"within {min(echo, 1.0):.0%} of the range for the weakest target"),)
    meaning = _meaning(left, "Fog", "look for dew or dirt on the window and at the alignment")
    return Solution(rows, meaning, _light_left(per_m, distance, path))


def _kruse(sight: float, wavelength: float) -> str:
    return f"{w.db_per_km(w.fog_extinction_per_m(sight, wavelength, 'kruse')):.3g}"


@calculator(
    "rain",
    "Could rain explain it?",
    example="rain rate=25mm/h distance=10m beam=20mm",
    formula=(
        "Three published laws give dB per km from the rate; light left by the strongest. Chance of a drop = 1 - "
        "exp(-drops per m3 times the beam's volume)."
    ),
    source=f"Marshall and Palmer 1948; 1.076 R^0.67 (Carbonneau); ITU-R P.1817-1 restated; {JUDGED}",
    limits=(
        f"The laws differ by up to about 75 %. At a gate a wet window, spray and puddles matter more. {PLAUSIBILITY}"
    ),
)
def rain(
    *,
    rate: Annotated[
        float,
        AskedInput(
            "Rain rate (2.5 light, 10 steady, 25 heavy, 100 cloudburst)", "25mm/h", Quantity("mm/h", 0.01, 500)
        ),
    ],
    distance: Distance,
    beam: Annotated[float, AskedInput("Diameter of the beam", "20mm", Quantity("mm", 0.5, 500))] = 20.0,
    path: Path = "there_and_back",
) -> Solution:
    """Rain: mm/h, m, mm."""
    band = w.rain_band_db_per_km(rate)
    worst = w.extinction_per_m(band.high)
    left, best = _left(worst, distance, path), _left(w.extinction_per_m(band.low), distance, path)
    rows: Rows = (
        ("light lost", f"{band.low:.2g} to {band.high:.2g} dB per km, by which law"),
        ("light left", f"{left:.1%} to {best:.1%} over {format_reading(distance, 'm')} {path.replace('_', ' ')}"),
    )
    for size in (1.0, 2.0):
        chance = w.drop_in_beam_probability(rate, beam / 1000, distance, size)
        rows += ((f"drop over {size:g} mm in the beam", f"{chance:.1%} of the time"),)
    meaning = _meaning(left, "Rain", "look for drops on the window, spray, puddles and water in the housing")
    return Solution(rows, meaning, _light_left(worst, distance, path))


@calculator(
    "snow",
    "Could snow explain it?",
    example="snow visibility=400m distance=10m",
    formula=(
        "By visibility: 3.91 / visibility per metre (flakes are far larger than the light's wavelength). By rate: a "
        "times rate to the power b, wet and dry."
    ),
    source=f"Weather-service visibility bands; ITU-R P.1817-1 coefficients restated; {JUDGED}",
    limits=(
        "One snow rate scatters three- to tenfold, and it is unclear whether it counts water or depth: prefer "
        f"visibility. A flake near the window can echo by itself. {PLAUSIBILITY}"
    ),
)
def snow(
    *,
    distance: Distance,
    visibility: Annotated[float | None, AskedInput("How far you can see in the snowfall", "400m", SIGHT)] = None,
    rate: Annotated[
        float | None, AskedInput("Snow rate, if the visibility is not known", "2mm/h", Quantity("mm/h", 0.01, 100))
    ] = None,
    wavelength: Wavelength = 905.0,
    path: Path = "there_and_back",
) -> Solution:
    """Snow: m, mm/h, nm. Visibility is the better input."""
    rows: Rows = ()
    losses: list[float] = []
    if visibility is not None:
        losses.append(w.fog_extinction_per_m(visibility, _REFERENCE_NM))
        rows += (("snowfall", f"{w.snow_band(visibility)} by visibility"),)
        rows += (("light lost by visibility", f"{w.db_per_km(losses[0]):.3g} dB per km"),)
    elif rate is not None:
        by_kind = {kind: w.snow_db_per_km(rate, wavelength, kind == "wet") for kind in ("wet", "dry")}
        losses += [w.extinction_per_m(db) for db in by_kind.values()]
        rows += (("light lost by rate", ", ".join(f"{kind} {db:.3g} dB per km" for kind, db in by_kind.items())),)
    else:
        raise CalculationError("Give the visibility in the snowfall, or at least the snow rate.")
    lefts = sorted(_left(per_m, distance, path) for per_m in losses)
    shown = " to ".join(dict.fromkeys(f"{left:.0%}" for left in lefts))
    rows += (("light left", f"{shown} over {format_reading(distance, 'm')} {path.replace('_', ' ')}"),)
    meaning = _meaning(lefts[0], "Snow", "look for snow on the window or hood, ploughed heaps and slush")
    return Solution(rows, meaning, _light_left(max(losses), distance, path))
