"""Brier score, expected calibration error and reliability against published and hand-worked numbers."""

import numpy as np
import pytest

from diagnose.measure.calibration import Calibration, calibration, calibration_error, reliability

SAID = [0.8] * 4 + [0.3] * 5 + [0.1]
RIGHT = [bool(int(c)) for c in "1011001000"]


def drawn(truth: float = 1.0, seed: int = 1, many: int = 4000) -> Calibration:
    """Stated p, come true with probability p ** truth."""
    rng = np.random.default_rng(seed)
    p = rng.beta(4, 1.5, many)
    return calibration(p.tolist(), (rng.random(many) < p**truth).tolist())


def test_brier_of_the_documented_example() -> None:
    """Brier (1950), binary form. The example y = 0 1 1 0 with .1 .9 .8 .3 is in scikit-learn's documentation as
    0.0375 (value from memory; by hand .01 + .01 + .04 + .09 over 4)."""
    assert calibration([0.1, 0.9, 0.8, 0.3], [False, True, True, False]).brier == pytest.approx(0.0375)


def test_by_hand() -> None:
    """W15: Brier .162. Two bins of five: stated .26 and .70, come true .2 and .6, so the error is (.06 + .10) / 2.
    Expected Brier: (4 * .16 + 5 * .21 + .09) / 10."""
    found = calibration(SAID, RIGHT)
    assert found.brier == pytest.approx(0.162)
    assert found.brier_expected == pytest.approx(0.178)
    assert found.surplus == pytest.approx(0.48 - 0.4)
    bins = reliability(SAID, RIGHT, 2)
    assert [(b.said, b.right, b.count) for b in bins] == [
        pytest.approx((0.26, 0.2, 5)),
        pytest.approx((0.70, 0.6, 5)),
    ]
    assert calibration_error(SAID, RIGHT, 2) == pytest.approx(0.08)


def test_bins_hold_equally_many() -> None:
    """Equal-mass bins: Naeini et al. (2015); Guo et al. (2017) describe the error itself."""
    counts = [b.count for b in reliability(list(np.linspace(0, 1, 103)), [True] * 103)]
    assert len(counts) == 10 and max(counts) - min(counts) <= 1 and sum(counts) == 103


def test_true_statements_are_found_consistent() -> None:
    """By construction every statement is true: the error is what chance alone gives, Brier is what it must be."""
    for seed in range(1, 6):
        found = drawn(seed=seed)
        assert found.consistent
        assert found.error < 2 * found.by_chance
        assert abs(found.brier - found.brier_expected) < 2 * found.brier_margin


@pytest.mark.parametrize("truth", [0.6, 1.6])
def test_false_statements_are_found_out(truth: float) -> None:
    found = drawn(truth)
    assert not found.consistent
    assert found.error > 2 * found.by_chance


def test_fewer_visits_than_bins() -> None:
    assert [b.count for b in reliability([0.5, 0.6], [True, False])] == [1, 1]
