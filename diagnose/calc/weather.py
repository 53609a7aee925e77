"""Rain, fog and snow on an optical path: how plausible weather is as a cause.

MODEL LIMITS. The rain laws disagree by up to about 75 %, so a band is given. They describe the mean along a
path; at gate ranges drops near the window, a wet window, spray and puddles matter more. Fog uses Kim below
500 m; the fog self-echo is derived here, ignores attenuation and is a plausibility figure only. Snow at one
rate scatters threefold to tenfold, so prefer visibility. Visibility V is the 2 % contrast kind: 1.31 · MOR.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import exp, log, pi, sqrt
from typing import Literal

from diagnose.calc._checks import not_negative, positive

DB_PER_NEPER = 4.343
SPEED_OF_LIGHT_M_PER_NS = 0.299792458
VISIBILITY_PER_MOR = 1.31
FOG_BACKSCATTER = 0.046
"""Backscatter per steradian times MOR (default of fog simulators after Rasshofer 2011)."""

_DROPS_PER_M3_MM = 8000.0
_ITU_RAIN_DB_PER_KM = ((0.25, 0.6), (2.5, 2.0), (12.5, 4.6), (25.0, 6.9), (100.0, 18.3))
"""Rain rate mm/h -> dB/km, visibility code of ITU-R P.1817-1, from a secondary restatement."""

FogModel = Literal["kim", "kruse"]
SnowBand = Literal["light", "moderate", "heavy"]


@dataclass(frozen=True, slots=True)
class Band:
    """Lowest and highest value that published laws give, dB per km."""

    low: float
    high: float


def drop_slope_per_mm(rain_mm_h: float) -> float:
    """Slope of the drop-size distribution: 4.1 · R^-0.21 per mm (Marshall and Palmer 1948)."""
    return 4.1 * float(positive(rain_mm_h, "rain rate") ** -0.21)


def drops_per_m3(rain_mm_h: float, over_mm: float = 0.0) -> float:
    """Drops per m³ larger than `over_mm`: 8000 / slope · exp(-slope · size)."""
    slope = drop_slope_per_mm(rain_mm_h)
    return _DROPS_PER_M3_MM / slope * exp(-slope * over_mm)


def rain_marshall_palmer_db_per_km(rain_mm_h: float) -> float:
    """dB per km when each drop blocks twice its area: π · 8000 / slope³ times 4.343, about 1.58 · R^0.63."""
    return DB_PER_NEPER * pi * _DROPS_PER_M3_MM / drop_slope_per_mm(rain_mm_h) ** 3 / 1000


def rain_carbonneau_db_per_km(rain_mm_h: float) -> float:
    """dB per km: 1.076 · R^0.67 (Carbonneau, measured in France; fit wavelength not confirmed)."""
    return 1.076 * float(positive(rain_mm_h, "rain rate") ** 0.67)


def rain_itu_db_per_km(rain_mm_h: float) -> float | None:
    """dB per km from the rain rates of ITU-R P.1817-1, log-log in between; None outside 0.25-100 mm/h."""
    for (low, at_low), (high, at_high) in pairwise(_ITU_RAIN_DB_PER_KM):
        if low <= rain_mm_h <= high:
            share = log(rain_mm_h / low) / log(high / low)
            return float(at_low * (at_high / at_low) ** share)
    return None


def rain_band_db_per_km(rain_mm_h: float) -> Band:
    """Lowest and highest of the three rain laws, dB per km."""
    laws = [rain_marshall_palmer_db_per_km(rain_mm_h), rain_carbonneau_db_per_km(rain_mm_h)]
    itu = rain_itu_db_per_km(rain_mm_h)
    laws += [itu] if itu is not None else []
    return Band(min(laws), max(laws))


def drop_in_beam_probability(
    rain_mm_h: float, beam_diameter_m: float, length_m: float, over_mm: float = 1.0
) -> float:
    """Chance that a drop larger than `over_mm` is in the beam now: 1 - exp(-drops per m³ · beam volume)."""
    volume = pi / 4 * positive(beam_diameter_m, "beam") ** 2 * positive(length_m, "length")
    return 1 - exp(-drops_per_m3(rain_mm_h, over_mm) * volume)


def fog_exponent(visibility_m: float, model: FogModel = "kim") -> float:
    """Wavelength exponent q of the fog law (Kruse; Kim 2001, zero below 500 m)."""
    km = positive(visibility_m, "visibility") / 1000
    if km >= 6:
        return 1.6 if km >= 50 else 1.3
    if model == "kruse":
        return 0.585 * float(km ** (1 / 3))
    if km >= 1:
        return 0.16 * km + 0.34
    return max(km - 0.5, 0.0)


def fog_extinction_per_m(visibility_m: float, wavelength_nm: float, model: FogModel = "kim") -> float:
    """Extinction per metre: 3.91 / visibility · (wavelength / 550 nm)^-q."""
    ratio = positive(wavelength_nm, "wavelength") / 550
    return 3.91 / positive(visibility_m, "visibility") * float(ratio ** -fog_exponent(visibility_m, model))


def db_per_km(extinction_per_m: float) -> float:
    """Extinction per metre as dB per km."""
    return extinction_per_m * 1000 * DB_PER_NEPER


def extinction_per_m(loss_db_per_km: float) -> float:
    """dB per km as extinction per metre."""
    return loss_db_per_km / 1000 / DB_PER_NEPER


def two_way_transmission(per_m: float, range_m: float) -> float:
    """Share of light left after going out and back: exp(-2 · extinction · range)."""
    return exp(-2 * not_negative(per_m, "extinction") * not_negative(range_m, "range"))


def fog_equivalent_reflectivity(mor_m: float, pulse_ns: float) -> float:
    """Reflectivity (0-1) of a solid target that echoes like the fog in one pulse: π · 0.046/MOR · cτ/2."""
    half_pulse_m = SPEED_OF_LIGHT_M_PER_NS * positive(pulse_ns, "pulse length") / 2
    return pi * FOG_BACKSCATTER / positive(mor_m, "visibility") * half_pulse_m


def fog_echo_share_of_range(mor_m: float, pulse_ns: float, weakest_reflectivity: float) -> float:
    """Share of the sensor's range for `weakest_reflectivity` within which fog itself may echo (model)."""
    weakest = positive(weakest_reflectivity, "reflectivity")
    return sqrt(fog_equivalent_reflectivity(mor_m, pulse_ns) / weakest)


def snow_db_per_km(snow_mm_h: float, wavelength_nm: float, wet: bool) -> float:
    """dB per km: a · S^b of ITU-R P.1817-1 (from restatements; unclear whether S is water or depth)."""
    slope, start, power = (1.023e-4, 3.7855466, 0.72) if wet else (5.42e-5, 5.4958776, 1.38)
    rate = positive(snow_mm_h, "snow rate")
    return (slope * positive(wavelength_nm, "wavelength") + start) * float(rate**power)


def snow_band(visibility_m: float) -> SnowBand:
    """Snow by visibility: light from 1.0 km, heavy up to 0.5 km, moderate between."""
    if positive(visibility_m, "visibility") >= 1000:
        return "light"
    return "moderate" if visibility_m > 500 else "heavy"


def visibility_from_mor_m(mor_m: float) -> float:
    """Visibility (2 % contrast, used by the fog law) from a weather service's MOR (5 %): 1.31 · MOR."""
    return VISIBILITY_PER_MOR * positive(mor_m, "visibility")
