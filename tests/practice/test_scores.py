"""Brier scores. Sources named beside each check."""

import pytest

from diagnose.core.posterior import prior
from diagnose.practice.scores import against_posterior, brier
from tests.practice.gates import small_reasoner


def test_the_example_of_scikit_learn_s_documentation() -> None:
    """brier_score_loss([0, 1, 1, 0], [0.1, 0.9, 0.8, 0.3]) = 0.0375 (value from memory; recomputed by hand)."""
    assert brier((0.1, 0.9, 0.8, 0.3), (0, 1, 1, 0)) == pytest.approx(0.0375, abs=1e-15)
    assert brier((0.1, 0.9, 0.8, 0.3), (0, 1, 1, 0)) == pytest.approx((0.01 + 0.01 + 0.04 + 0.09) / 4)


def test_fifty_fifty_on_everything_scores_a_quarter() -> None:
    """Brier 1950: the score of the uninformed forecast."""
    assert brier((0.5,) * 7, (1, 0, 0, 1, 1, 0, 1)) == 0.25


def test_saying_the_posterior_is_perfect_and_saying_nothing_is_no_score() -> None:
    belief = prior(small_reasoner().network(()), "stuck")
    exact = tuple(belief.ranked()[:2])
    assert against_posterior(exact, belief) == pytest.approx(0.0, abs=1e-15)
    assert against_posterior((), belief) is None
    with pytest.raises(ValueError, match=r"^\(\)$"):
        brier((), ())


def test_leaving_the_likely_cause_out_counts_as_saying_nought() -> None:
    belief = prior(small_reasoner().network(()), "stuck")
    (leader, p), (second, q) = belief.ranked()[:2]
    assert against_posterior(((second, q),), belief) == pytest.approx((p**2 + 0.0) / 2)
    assert against_posterior(((leader, p), (second, q)), belief) == pytest.approx(0.0, abs=1e-15)
