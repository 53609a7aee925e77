"""The exact optimum against every strategy there is, written out and run through every world."""

from collections.abc import Iterator
from itertools import product
from typing import Any

import numpy as np
import pytest

from diagnose.core.network import Floats
from diagnose.measure.optimal import SmallProblem, expected_minutes, optimum, stacked
from tests.optimal import random_problem

Tree = tuple[Any, ...]  # ("specialist",), ("repair", i, tree) or ("test", t, (tree per outcome))


def strategies(tests: frozenset[int], causes: frozenset[int], outcomes: int) -> Iterator[Tree]:
    yield ("specialist",)
    for i in causes:
        yield from (("repair", i, then) for then in strategies(tests, causes - {i}, outcomes))
    for t in tests:
        after = list(strategies(tests - {t}, causes, outcomes))
        yield from (("test", t, branches) for branches in product(after, repeat=outcomes))


def spent(problem: SmallProblem, tree: Tree, cause: int, shows: tuple[int, ...]) -> float:
    minutes = 0.0
    while tree[0] != "specialist":
        kind, which, then = tree
        minutes += float((problem.test if kind == "test" else problem.repair)[which])
        if kind == "repair" and which == cause:
            return minutes
        tree = then if kind == "repair" else then[shows[which]]
    return minutes + float(problem.specialist)


def by_writing_out(problem: SmallProblem) -> float:
    """The least expected minutes over all strategies; a sum over causes and everything the tests could show."""
    tests, outcomes, causes = problem.outcomes.shape
    worlds = [(c, shows) for c in range(causes) for shows in product(range(outcomes), repeat=tests)]
    chance = [
        float(problem.prior[c] * np.prod([problem.outcomes[t, k, c] for t, k in enumerate(s)])) for c, s in worlds
    ]
    trees = strategies(frozenset(range(tests)), frozenset(range(causes)), outcomes)
    return min(sum(p * spent(problem, tree, *w) for p, w in zip(chance, worlds, strict=True)) for tree in trees)


def three_outcomes(rng: np.random.Generator) -> SmallProblem:
    shown: Floats = rng.dirichlet(np.ones(3), (1, 2)).swapaxes(-1, -2)
    return SmallProblem(rng.dirichlet(np.ones(2)), shown, rng.uniform(1, 9, 1), rng.uniform(5, 60, 2), np.array(70.0))


@pytest.mark.parametrize("seed", range(4))
def test_no_strategy_is_better(seed: int) -> None:
    """Source: enumeration, 3,417 strategies for two causes and two tests, 148 for one test of three outcomes."""
    rng = np.random.default_rng(seed)
    for problem in (random_problem(rng, causes=2, tests=2), three_outcomes(rng)):
        assert float(optimum(problem)) == pytest.approx(by_writing_out(problem), abs=1e-9)


def test_problems_solved_together_are_solved_as_if_alone() -> None:
    problems = [random_problem(np.random.default_rng(s), 3, 2) for s in range(5)]
    assert optimum(stacked(problems)) == pytest.approx([float(optimum(p)) for p in problems], abs=1e-12)


def test_an_outcome_that_cannot_happen_changes_nothing() -> None:
    problem = random_problem(np.random.default_rng(9), 3, 2)
    padded = np.concatenate([problem.outcomes, np.zeros((2, 1, 3))], axis=1)
    wider = SmallProblem(problem.prior, padded, problem.test, problem.repair, problem.specialist)
    assert float(optimum(wider)) == pytest.approx(float(optimum(problem)), abs=1e-12)


def test_giving_the_job_away_at_once_costs_the_specialist() -> None:
    problem = random_problem(np.random.default_rng(3), 2, 1)
    assert expected_minutes(problem, lambda *_: ("specialist", 0)) == pytest.approx(240.0)
