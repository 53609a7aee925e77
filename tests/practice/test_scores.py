"""Brier scores. Sources named beside each check; W15 values recomputed by hand below."""

import numpy as np
import pytest

from diagnose.core.posterior import prior
from diagnose.practice.scores import against_posterior, against_truth, brier, murphy
from tests.practice.gates import small_reasoner

# made for this project: three values, ten cases (worked example W15)
SAID = (0.8, 0.8, 0.8, 0.8, 0.3, 0.3, 0.3, 0.3, 0.3, 0.1)
HAPPENED = (1, 0, 1, 1, 0, 0, 1, 0, 0, 0)


def test_the_example_of_scikit_learn_s_documentation() -> None:
    """brier_score_loss([0, 1, 1, 0], [0.1, 0.9, 0.8, 0.3]) = 0.0375 (value from memory; recomputed by hand)."""
    assert brier((0.1, 0.9, 0.8, 0.3), (0, 1, 1, 0)) == pytest.approx(0.0375, abs=1e-15)
    assert brier((0.1, 0.9, 0.8, 0.3), (0, 1, 1, 0)) == pytest.approx((0.01 + 0.01 + 0.04 + 0.09) / 4)


def test_the_parts_of_murphy_add_up_to_the_score() -> None:
    """Murphy, J. Appl. Meteor. 12 (1973): BS = REL - RES + UNC = .007 - .085 + .24 = .162."""
    parts = murphy(SAID, HAPPENED)
    found = (parts.reliability, parts.resolution, parts.uncertainty)
    assert found == pytest.approx((0.007, 0.085, 0.24), abs=1e-12)
    assert brier(SAID, HAPPENED) == pytest.approx(0.162, abs=1e-12)


def test_the_parts_add_up_for_any_statements() -> None:
    rng = np.random.default_rng(5)
    for _ in range(100):
        said = rng.choice([0.1, 0.4, 0.5, 0.9], 20).tolist()
        happened = rng.integers(0, 2, 20).tolist()
        parts = murphy(said, happened)
        total = parts.reliability - parts.resolution + parts.uncertainty
        assert total == pytest.approx(brier(said, happened), abs=1e-12)


def test_fifty_fifty_on_everything_scores_a_quarter() -> None:
    """Brier 1950: the score of the uninformed forecast."""
    assert brier((0.5,) * 7, (1, 0, 0, 1, 1, 0, 1)) == 0.25


def test_saying_the_posterior_is_perfect_and_saying_nothing_is_no_score() -> None:
    belief = prior(small_reasoner().network(()), "stuck")
    exact = tuple(belief.ranked()[:2])
    assert against_posterior(exact, belief) == pytest.approx(0.0, abs=1e-15)
    assert against_posterior((), belief) is None
    assert against_truth((), ("dirt",)) is None
    with pytest.raises(ValueError, match=r"^\(\)$"):
        brier((), ())


def test_leaving_the_likely_cause_out_counts_as_saying_nought() -> None:
    belief = prior(small_reasoner().network(()), "stuck")
    (leader, p), (second, q) = belief.ranked()[:2]
    assert against_posterior(((second, q),), belief) == pytest.approx((p**2 + 0.0) / 2)
    assert against_posterior(((leader, p), (second, q)), belief) == pytest.approx(0.0, abs=1e-15)


def test_against_the_truth_is_the_plain_brier_score() -> None:
    assert against_truth((("dirt", 0.8), ("fuse", 0.3)), ("dirt",)) == pytest.approx((0.04 + 0.09) / 2)
