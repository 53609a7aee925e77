"""Problems with yes/no tests for the dynamic programme of `diagnose.measure.optimal`; numbers drawn here."""

import numpy as np

from diagnose.core.network import Floats
from diagnose.measure.optimal import SmallProblem


def binary(prior: Floats, positive: Floats, test: Floats, repair: Floats, specialist: float) -> SmallProblem:
    """`positive` (T, n): P(test positive | cause); outcome 0 is negative, 1 positive."""
    outcomes = np.stack([1.0 - positive, positive], axis=-2)
    return SmallProblem(prior, outcomes, test, repair, np.array(specialist))


def positive(problem: SmallProblem) -> Floats:
    """P(test positive | cause), shape (T, n)."""
    return np.asarray(problem.outcomes[..., 1, :])


def random_problem(rng: np.random.Generator, causes: int = 5, tests: int = 5) -> SmallProblem:
    """Uneven priors, tests that are noisy in either direction, repairs of 5-60 and tests of 1-15 minutes."""
    prior = rng.dirichlet(np.ones(causes))
    informative = rng.random((tests, causes)) < 0.5
    shown = np.where(informative, rng.uniform(0.6, 0.98, (tests, causes)), rng.uniform(0.02, 0.3, (tests, causes)))
    return binary(prior, shown, rng.uniform(1, 15, tests), rng.uniform(5, 60, causes), 240.0)
