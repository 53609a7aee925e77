"""Exact optimum of small single-fault troubleshooting problems, and the exact expected minutes of any policy.

Method: published (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995). A state is (answers so far, repairs
tried so far). Its weight W is the joint probability of the answers and of the fault being among the causes not
yet repaired. Working with U = W * expected minutes still to come, the optimum obeys one recursion without division:

    U = min( specialist * W,  test_t * W + sum over outcomes of U(t gave it),  repair_i * W + U(i repaired) )
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from itertools import product

import numpy as np

from diagnose.core.network import Floats

UNASKED = -1
SPECIALIST = ("specialist", 0)
Action = tuple[str, int]  # ("test", t), ("repair", i) or SPECIALIST
_NEGLIGIBLE = 1e-12


@dataclass(frozen=True)
class SmallProblem:
    """prior (n,), outcomes (T, K, n): P(outcome k of test t | cause); minutes: test (T,), repair (n,), specialist ().

    A test with fewer than K outcomes has zeros in the rest. Problems of one size may be stacked along a leading axis
    and are then solved together.
    """

    prior: Floats
    outcomes: Floats
    test: Floats
    repair: Floats
    specialist: Floats


@dataclass(frozen=True)
class ProblemState:
    """answers[t] is UNASKED or the number of an outcome; `tried` holds the repairs that did not help."""

    answers: tuple[int, ...]
    tried: frozenset[int] = frozenset()

    def answered(self, test: int, outcome: int) -> "ProblemState":
        return ProblemState((*self.answers[:test], outcome, *self.answers[test + 1 :]), self.tried)

    def repaired(self, cause: int) -> "ProblemState":
        return ProblemState(self.answers, self.tried | {cause})


Policy = Callable[[SmallProblem, ProblemState], Action]


def stacked(problems: Sequence[SmallProblem]) -> SmallProblem:
    return SmallProblem(*(np.stack([getattr(p, f.name) for p in problems]) for f in fields(SmallProblem)))


def joint(problem: SmallProblem, state: ProblemState) -> Floats:
    """P(cause, answers) for the causes not yet repaired, shape (..., n)."""
    weight = problem.prior.copy()
    weight[..., list(state.tried)] = 0.0
    for test, outcome in enumerate(state.answers):
        if outcome != UNASKED:
            weight *= problem.outcomes[..., test, outcome, :]
    return weight


def optimum(problem: SmallProblem) -> Floats:
    """Expected minutes of the best policy, by dynamic programming over all (K + 1)^T * 2^n states."""
    tests, outcomes, causes = problem.outcomes.shape[-3:]
    known: dict[ProblemState, Floats] = {}
    answer_sets = sorted(
        product((UNASKED, *range(outcomes)), repeat=tests), key=lambda a: -sum(x != UNASKED for x in a)
    )
    repaired_sets = [frozenset(i for i in range(causes) if bits >> i & 1) for bits in reversed(range(2**causes))]
    for answers in answer_sets:
        for tried in repaired_sets:
            known[ProblemState(answers, tried)] = _best(problem, ProblemState(answers, tried), known)
    return known[ProblemState((UNASKED,) * tests)]


def _best(problem: SmallProblem, state: ProblemState, known: dict[ProblemState, Floats]) -> Floats:
    weight = joint(problem, state).sum(axis=-1)
    best = problem.specialist * weight
    for i in set(range(problem.prior.shape[-1])) - state.tried:
        best = np.minimum(best, problem.repair[..., i] * weight + known[state.repaired(i)])
    for t, outcome in enumerate(state.answers):
        if outcome == UNASKED:
            after = sum(known[state.answered(t, k)] for k in range(problem.outcomes.shape[-2]))
            best = np.minimum(best, problem.test[..., t] * weight + after)
    return np.asarray(best)


def expected_minutes(problem: SmallProblem, policy: Policy, state: ProblemState | None = None) -> float:
    """Expected minutes of a policy, by following every answer it may get. Weighted by P(state); 1 at the start."""
    state = state or ProblemState((UNASKED,) * len(problem.test))
    weight = float(joint(problem, state).sum())
    if weight < _NEGLIGIBLE:
        return 0.0
    kind, which = policy(problem, state)
    if kind == "specialist":
        return float(problem.specialist) * weight
    if kind == "repair":
        return float(problem.repair[which]) * weight + expected_minutes(problem, policy, state.repaired(which))
    after = (expected_minutes(problem, policy, state.answered(which, k)) for k in range(problem.outcomes.shape[-2]))
    return float(problem.test[which]) * weight + sum(after)
