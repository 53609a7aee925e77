"""The path the coach calls best, against dynamic programming on small knowledge bases: the gap is stated.

Oracle: diagnose/measure/optimal.py (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995), exact expected minutes.
Each random single-fault problem is written as a knowledge base, every hidden cause with every outcome of every test
is worked through the exercise itself, and the minutes are weighted by their probability.
"""

from functools import partial
from itertools import product
from typing import Any

import numpy as np
import pytest

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.measure.optimal import SmallProblem, optimum
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup, Value
from diagnose.practice.exercise import begin, best_from
from diagnose.practice.gate import Gate
from tests.build import cause, check, knowledge
from tests.optimal import binary, positive, random_problem

LEAK = 0.001
NEVER = 1e-6


def as_knowledge(problem: SmallProblem) -> KnowledgeBase:
    """The problem as causes and checks; net leak convention: 1 - (1 - leak)(1 - strength) = P(positive | cause)."""
    tests, causes = positive(problem).shape
    words = {f"often{i}": float(p) for i, p in enumerate(problem.prior)}
    listed = [
        cause(
            f"cause{i}",
            {f"test{t}": {"pos": 1.0 - (1.0 - positive(problem)[t, i]) / (1.0 - LEAK)} for t in range(tests)},
            common=f"often{i}",
            minutes=float(problem.repair[i]),
            proof_minutes=0.0,
            complaints={"stuck": "typical"},
        )
        for i in range(causes)
    ]
    outside = cause("something_else", {}, common="never", complaints={"stuck": "typical"})
    checks = [check(f"test{t}", ("neg", "pos"), {"pos": LEAK}, minutes=float(problem.test[t])) for t in range(tests)]
    numbers: dict[str, Any] = {"asking_minutes": 0.0, "slip": NEVER, "two_fault_odds": NEVER, "botched_repair": NEVER}
    # one complaint for all, so it tells nothing; concluding only when no check pays, as the oracle's actions allow
    numbers |= {"conclude_at": 1.0, "least_bits_per_minute": 1e9, "specialist_minutes": float(problem.specialist)}
    frequency = {**words, "never": NEVER}
    return knowledge([*listed, outside], checks, frequency=frequency, complaints=["stuck"], **numbers)


def worked(problem: SmallProblem) -> float:
    """Expected minutes of the best path, over every cause and every outcome of the tests."""
    kb, total = as_knowledge(problem), 0.0
    reasoner = Reasoner(kb, partial(fixpoint, kb))
    tests, causes = positive(problem).shape
    for hidden in range(causes):
        for outcome in product((0, 1), repeat=tests):
            chances = np.where(outcome, positive(problem)[:, hidden], 1.0 - positive(problem)[:, hidden])
            names = {f"test{t}": ("neg", "pos")[o] for t, o in enumerate(outcome)}
            shows: dict[str, Value] = {**names, "made_safe": "safe"}
            gate = Gate(1, Setup(), "stuck", (f"cause{hidden}",), names, shows)
            minutes = best_from(reasoner, begin(reasoner, gate)).minutes
            total += float(problem.prior[hidden] * chances.prod()) * minutes
    return total


def gaps(problems: int, causes: int = 4, tests: int = 3) -> list[float]:
    """Relative excess over the optimum."""
    drawn = [random_problem(np.random.default_rng(seed), causes, tests) for seed in range(problems)]
    return [worked(p) / float(optimum(p)) - 1.0 for p in drawn]


def test_the_best_path_is_near_the_optimum() -> None:
    """Never better than the optimum, as it must be. Over 200 problems: mean 1.35 %, p95 4.9 %, max 11.2 %."""
    found = gaps(30)
    print(f"gap mean {np.mean(found):.2%}, p95 {np.quantile(found, 0.95):.2%}, max {max(found):.2%}")
    assert min(found) > -1e-4
    assert float(np.mean(found)) <= 0.025
    assert float(np.quantile(found, 0.95)) <= 0.08


def test_a_worked_case_by_hand() -> None:
    """Two causes 0.8 and 0.2, repairs of 3 and 2 minutes, no useful test: 3 + 0.2 * 2 = 3.4 minutes (p/c order)."""
    problem = binary(np.array([0.8, 0.2]), np.full((1, 2), 0.5), np.array([5.0]), np.array([3.0, 2.0]), 240.0)
    assert float(optimum(problem)) == pytest.approx(3.4)
    assert worked(problem) == pytest.approx(3.4, abs=1e-3)
