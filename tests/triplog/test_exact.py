"""Counts, intervals and many tests at once, against published worked examples and scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.errors import CalculationError
from diagnose.triplog.exact import (
    at_least,
    at_most,
    chi_square_above,
    discovery,
    dispersion,
    fisher,
    rate_ratio,
    rayleigh,
    share_interval,
)


@pytest.mark.parametrize(
    ("data", "ratio", "low", "high", "doubled"),
    [
        # OpenEpi, "Compare two person-time rates", worked output (as restated by others; not opened)
        ((17, 100025, 3, 122268), 6.9268, 2.0035, 36.892, 0.00055381),
        ((8, 78531, 1, 77932), 7.9390, 1.0644, 352.27, 0.040152),
        # CRAN package rateratio.test, vignette: barely non-significant when doubled
        ((2, 17877, 9, 16660), 0.20709, 0.02177, 1.00055, 0.050106),
        # R, help page of poisson.test (ratio and interval)
        ((11, 800, 21, 3011), 1.97149, 0.85843, 4.27727, 0.11202),
    ],
)
def test_rate_ratio_of_published_examples(
    data: tuple[int, float, int, float], ratio: float, low: float, high: float, doubled: float
) -> None:
    found = rate_ratio(*data)
    assert (found.ratio, found.low, found.high) == pytest.approx((ratio, low, high), rel=2e-4)
    assert found.p == pytest.approx(doubled, rel=1e-4)


def test_rayleigh_of_zars_example() -> None:
    """Zar, Biostatistical Analysis, 2010, examples 26.2 and 27.1: z 5.448, 0.001 < p < 0.002."""
    angles = np.radians([45, 55, 81, 96, 110, 117, 132, 154])
    length = float(abs(np.exp(1j * angles).mean()))
    z, p = rayleigh(8, length)
    assert z == pytest.approx(5.448, abs=5e-4)
    assert 0.001 < p < 0.002


def test_rayleigh_is_blind_to_two_opposite_peaks() -> None:
    hours = np.array([7.0, 7.2, 6.8, 19.0, 19.1, 18.9])
    of_day = float(abs(np.exp(2j * np.pi * hours / 24).mean()))
    of_half = float(abs(np.exp(2j * np.pi * hours / 12).mean()))
    assert rayleigh(6, of_day)[1] > 0.99
    assert rayleigh(6, of_half)[1] < 0.001


def test_fisher_of_the_lady_tasting_tea() -> None:
    """Fisher 1935, The Design of Experiments: 3 of 4 right, two-sided 34/70."""
    assert fisher(3, 1, 1, 3) == pytest.approx(34 / 70)
    assert fisher(8, 2, 1, 5) == pytest.approx(0.0349650, abs=1e-6)  # scipy.stats.fisher_exact, documentation


def test_false_discovery_of_the_original_paper() -> None:
    """Benjamini and Hochberg 1995, section 4.2: four rejected at 5 %."""
    ps = [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.324,
        0.4262,
        0.5719,
        0.6528,
        0.759,
        1,
    ]
    adjusted = discovery(ps)
    assert sum(p <= 0.05 for p in adjusted) == 4
    assert adjusted == pytest.approx(stats.false_discovery_control(ps).tolist())


def test_dispersion_of_the_horse_kicks() -> None:
    """Bortkiewicz 1898, 200 corps-years: D 199.31 on 199 degrees of freedom; Poisson fits."""
    d, p = dispersion([0] * 109 + [1] * 65 + [2] * 22 + [3] * 3 + [4])
    assert (d, p) == pytest.approx((199.311, 0.4804), abs=5e-4)


def test_dispersion_sees_bursts() -> None:
    assert dispersion([0, 0, 0, 12, 0, 0, 0, 14, 0, 0])[1] < 1e-6


@given(st.integers(1, 3000), st.floats(0, 1), st.floats(0.001, 0.999))
def test_binomial_tails_agree_with_scipy(n: int, part: float, p: float) -> None:
    k = round(n * part)
    assert at_least(k, n, p) == pytest.approx(stats.binom.sf(k - 1, n, p), abs=1e-11, rel=1e-8)
    assert at_most(k, n, p) == pytest.approx(stats.binom.cdf(k, n, p), abs=1e-11, rel=1e-8)


@given(st.integers(1, 500), st.floats(0, 1))
def test_share_interval_agrees_with_scipy(n: int, part: float) -> None:
    k = round(n * part)
    interval = stats.binomtest(k, n).proportion_ci(method="exact")
    assert share_interval(k, n) == pytest.approx((interval.low, interval.high), abs=1e-9)


@given(st.floats(0.01, 2000), st.integers(1, 1000))
def test_chi_square_tail_agrees_with_scipy(x: float, freedom: int) -> None:
    assert chi_square_above(x, freedom) == pytest.approx(stats.chi2.sf(x, freedom), abs=1e-11, rel=1e-8)


@given(*[st.integers(0, 40)] * 4)
def test_fisher_agrees_with_scipy(a: int, b: int, c: int, d: int) -> None:
    assert fisher(a, b, c, d) == pytest.approx(stats.fisher_exact([[a, b], [c, d]])[1], abs=1e-9)


def test_the_smallest_tail_keeps_its_digits() -> None:
    assert at_least(90, 100, 0.05) == pytest.approx(float(stats.binom.sf(89, 100, 0.05)), rel=1e-10)


@pytest.mark.parametrize("data", [(0, 1, 0, 1), (3, 0, 1, 5), (3, 5, 1, 0)])
def test_no_ratio_without_events_or_exposure(data: tuple[int, float, int, float]) -> None:
    with pytest.raises(CalculationError):
        rate_ratio(*data)
