"""Rain, fog and snow. The published tables are the checks where there is one."""

import pytest

from diagnose.calc.weather import (
    FogModel,
    SnowBand,
    db_per_km,
    drop_in_beam_probability,
    drop_slope_per_mm,
    drops_per_m3,
    extinction_per_m,
    fog_echo_share_of_range,
    fog_equivalent_reflectivity,
    fog_extinction_per_m,
    rain_band_db_per_km,
    rain_carbonneau_db_per_km,
    rain_itu_db_per_km,
    rain_marshall_palmer_db_per_km,
    snow_band,
    snow_db_per_km,
    two_way_transmission,
    visibility_from_mor_m,
)
from diagnose.errors import CalculationError

MARSHALL_PALMER = "[C] constants [L] Marshall and Palmer 1948 as in public implementations"
KIM_TABLE = "[C=L] Kim et al. 2001, Table 4, as transcribed"


@pytest.mark.parametrize(
    ("rain", "slope", "over_1_mm", "palmer_db", "carbonneau_db", "source"),
    [
        (0.25, 5.4855, 6.0, 0.661, 0.425, MARSHALL_PALMER),
        (1, 4.1000, 32.3, 1.584, 1.076, MARSHALL_PALMER),
        (2.5, 3.3823, 80.3, 2.821, 1.988, MARSHALL_PALMER),
        (12.5, 2.4123, 297, 7.775, 5.844, MARSHALL_PALMER),
        (25, 2.0855, 477, 12.03, 9.299, MARSHALL_PALMER),
        (100, 1.5588, 1080, 28.82, 23.54, MARSHALL_PALMER),
    ],
)
def test_rain(
    rain: float,
    slope: float,
    over_1_mm: float,
    palmer_db: float,
    carbonneau_db: float,
    source: str,
) -> None:
    assert drop_slope_per_mm(rain) == pytest.approx(slope, rel=1e-3), source
    assert drops_per_m3(rain, 1) == pytest.approx(over_1_mm, rel=2e-3, abs=0.05), f"{source}, rounded"
    assert rain_marshall_palmer_db_per_km(rain) == pytest.approx(palmer_db, rel=1e-3), source
    assert rain_carbonneau_db_per_km(rain) == pytest.approx(carbonneau_db, rel=1e-3), "[L2] 1.076 R^0.67"


@pytest.mark.parametrize("rain", [0.25, 1, 5, 25, 100])
def test_our_first_rain_law_is_the_published_japanese_fit(rain: float) -> None:
    published = 1.58 * rain**0.63
    assert rain_marshall_palmer_db_per_km(rain) == pytest.approx(published, rel=5e-3), "[L2] 1.58 R^0.63"


@pytest.mark.parametrize(
    ("rain", "db", "source"),
    [(rain, db, "[L2] ITU-R P.1817-1 visibility code") for rain, db in ((0.25, 0.6), (2.5, 2), (12.5, 4.6))]
    + [(25, 6.9, "[L2] ITU-R P.1817-1 visibility code"), (100, 18.3, "[L2] ITU-R P.1817-1 visibility code")],
)
def test_rain_by_the_itu_code(rain: float, db: float, source: str) -> None:
    assert rain_itu_db_per_km(rain) == pytest.approx(db), source
    assert rain_itu_db_per_km(1000) is None


@pytest.mark.parametrize(("rain", "low", "high"), [(12.5, 4.6, 7.775), (25, 6.9, 12.03), (200, 37.45, 44.6)])
def test_rain_is_given_as_a_band(rain: float, low: float, high: float) -> None:
    band = rain_band_db_per_km(rain)
    assert (band.low, band.high) == pytest.approx((low, high), rel=2e-3)


@pytest.mark.parametrize(("rain", "range_m", "left"), [(25, 5, 0.979), (100, 10, 0.897)])
def test_rain_hardly_dims_a_short_path(rain: float, range_m: float, left: float) -> None:
    per_m = extinction_per_m(rain_carbonneau_db_per_km(rain))
    assert two_way_transmission(per_m, range_m) == pytest.approx(left, abs=1e-3), "[C]"


@pytest.mark.parametrize(
    ("rain", "over_mm", "probability", "source"),
    [
        (2.5, 1, 0.0729, "[C]"),
        (10, 1, 0.212, "[C]"),
        (25, 1, 0.362, "[C]"),
        (100, 1, 0.639, "[C]"),
        (2.5, 2, 0.0026, "[C]"),
        (10, 2, 0.0188, "[C]"),
        (25, 2, 0.0543, "[C]"),
        (100, 2, 0.193, "[C]"),
    ],
)
def test_a_drop_in_the_beam(rain: float, over_mm: float, probability: float, source: str) -> None:
    assert drop_in_beam_probability(rain, 0.02, 3, over_mm) == pytest.approx(probability, abs=5e-4), source


@pytest.mark.parametrize(
    ("model", "visibility_m", "wavelength_nm", "printed_db", "tolerance", "source"),
    [
        ("kim", 50, 785, 340, 0.5, KIM_TABLE),
        ("kim", 50, 1550, 340, 0.5, KIM_TABLE),
        ("kim", 200, 785, 85, 0.5, KIM_TABLE),
        ("kim", 200, 1550, 85, 0.5, KIM_TABLE),
        ("kim", 500, 785, 34, 0.5, KIM_TABLE),
        ("kim", 500, 1550, 34, 0.5, KIM_TABLE),
        ("kim", 1000, 785, 14, 0.5, KIM_TABLE),
        ("kim", 1000, 1550, 10, 0.5, KIM_TABLE),
        ("kim", 10_000, 785, 1.0, 0.1, KIM_TABLE + " (our 1.07 prints as 1.1)"),
        ("kim", 10_000, 1550, 0.4, 0.05, KIM_TABLE),
        ("kruse", 50, 785, 315, 0.5, "[C=L] Kim et al. 2001, Kruse table"),
        ("kruse", 200, 785, 75, 0.5, "[C=L] Kim et al. 2001, Kruse table"),
    ],
)
def test_fog_against_the_published_tables(
    model: FogModel,
    visibility_m: float,
    wavelength_nm: float,
    printed_db: float,
    tolerance: float,
    source: str,
) -> None:
    found = db_per_km(fog_extinction_per_m(visibility_m, wavelength_nm, model))
    assert found == pytest.approx(printed_db, abs=tolerance), source


@pytest.mark.parametrize(
    ("visibility_m", "kruse_db", "kim_db", "kim_per_m", "over_5_m", "over_10_m"),
    [
        (20, 784.5, 849.1, 0.1955, 0.142, 0.020),
        (50, 305.1, 339.6, 0.0782, 0.457, 0.209),
        (200, 71.6, 84.9, 0.01955, 0.822, 0.676),
        (500, 26.95, 33.96, 0.00782, None, None),
        (1000, 12.69, 13.24, 0.003048, 0.970, 0.941),
        (10_000, 0.89, 0.89, 0.000205, None, None),
    ],
)
def test_fog_at_905_nm(
    visibility_m: float,
    kruse_db: float,
    kim_db: float,
    kim_per_m: float,
    over_5_m: float | None,
    over_10_m: float | None,
) -> None:
    kim = fog_extinction_per_m(visibility_m, 905)
    assert kim == pytest.approx(kim_per_m, rel=2e-3), "[C]"
    assert db_per_km(kim) == pytest.approx(kim_db, rel=2e-3), "[C]"
    assert db_per_km(fog_extinction_per_m(visibility_m, 905, "kruse")) == pytest.approx(kruse_db, rel=2e-3)
    for range_m, left in ((5, over_5_m), (10, over_10_m)):
        if left is not None:
            assert two_way_transmission(kim, range_m) == pytest.approx(left, abs=1e-3), "[C]"


def test_kim_has_no_step_and_kruse_has_one() -> None:
    for visibility_m in (500, 1000):
        below, above = (fog_extinction_per_m(visibility_m + step, 905) for step in (-0.01, 0.01))
        assert below == pytest.approx(above, rel=1e-3)
    below, above = (fog_extinction_per_m(6000 + step, 1550, "kruse") for step in (-0.01, 0.01))
    assert 1 - above / below == pytest.approx(0.22, abs=0.005), "[L] Kruse falls by 22 % at 6 km (1550 nm inferred)"


@pytest.mark.parametrize(
    ("mor_m", "reflectivity_percent", "ratio"),
    [(50, 0.2166, 0.208), (20, 0.5415, 0.329), (200, 0.0542, 0.104)],
)
def test_fog_that_echoes(mor_m: float, reflectivity_percent: float, ratio: float) -> None:
    source = "[C] model with β = 0.046/MOR [L2]"
    assert fog_equivalent_reflectivity(mor_m, 5) * 100 == pytest.approx(reflectivity_percent, abs=1e-4), source
    assert fog_echo_share_of_range(mor_m, 5, 0.05) == pytest.approx(ratio, abs=1e-3), source


@pytest.mark.parametrize(("rate", "wet", "dry"), [(1, 3.878, 5.545), (2, 6.388, 14.432), (5, 12.356, 51.106)])
def test_snow_at_905_nm(rate: float, wet: float, dry: float) -> None:
    source = "[C] coefficients [L2] ITU-R P.1817-1 Table 2"
    assert snow_db_per_km(rate, 905, wet=True) == pytest.approx(wet, abs=1e-3), source
    assert snow_db_per_km(rate, 905, wet=False) == pytest.approx(dry, abs=1e-3), source


@pytest.mark.parametrize(
    ("visibility_m", "band"),
    [(1500, "light"), (1000, "light"), (999, "moderate"), (501, "moderate"), (500, "heavy"), (50, "heavy")],
)
def test_snow_by_visibility(visibility_m: float, band: SnowBand) -> None:
    assert snow_band(visibility_m) == band, "[L2] weather-service bands"


def test_visibility_from_the_weather_service() -> None:
    assert visibility_from_mor_m(100) == pytest.approx(100 * 3.912 / 2.996, rel=5e-3), "[L2] 2 % against 5 %"


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: rain_band_db_per_km(0),
        lambda: fog_extinction_per_m(0, 905),
        lambda: fog_extinction_per_m(100, 0),
        lambda: two_way_transmission(-1, 1),
        lambda: snow_band(0),
        lambda: snow_db_per_km(-1, 905, wet=True),
    ],
)
def test_numbers_without_meaning_are_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CalculationError):
        impossible()
