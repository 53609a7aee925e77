"""The misfit of a visit's answers against plain enumeration over causes."""

from itertools import permutations

import numpy as np
import pytest

from diagnose.core.misfit import unread
from diagnose.model.visit import Observation
from tests.build import network, single_fault, table

STATES = ("ok", "bad")
SHOWN = {"a": (0.9, 0.05), "b": (0.8, 0.1), "c": (0.05, 0.9)}  # P(bad | each of two causes alone), no leak
BELIEF = single_fault(
    network(
        {"one": 0.3, "two": 0.7}, [table(n, STATES, (1, 0), [(1 - p, p) for p in row]) for n, row in SHOWN.items()]
    )
)


def by_enumeration(states: dict[str, str], slip: float) -> float:
    """P(answers) when each is wrong with the given chance; source: Bayes' rule over the two causes."""
    total = 0.0
    for cause, share in enumerate((0.3, 0.7)):
        p = share
        for name, state in states.items():
            bad = (1 - slip) * SHOWN[name][cause] + slip * (1 - SHOWN[name][cause])
            p *= bad if state == "bad" else 1 - bad
        total += p
    return total


def scored(states: dict[str, str], careless: float = 0.2, slip: float = 0.02) -> float:
    readings = unread(BELIEF)
    for name, state in states.items():
        readings = readings.after(Observation(name, state), slip, careless)
    return readings.misfit


@pytest.mark.parametrize("c", STATES)
def test_equals_the_ratio_by_enumeration(c: str) -> None:
    states = {"a": "bad", "b": "bad", "c": c}
    wanted = np.log(by_enumeration(states, 0.2) / by_enumeration(states, 0.02))
    assert scored(states) == pytest.approx(wanted, abs=1e-12)


def test_answers_that_fit_score_below_nought_and_a_contradiction_above() -> None:
    assert scored({"a": "bad", "b": "bad", "c": "ok"}) < 0
    assert scored({"a": "bad", "b": "bad", "c": "bad"}) > 0.5


def test_the_order_of_the_answers_does_not_matter() -> None:
    states = {"a": "bad", "b": "ok", "c": "bad"}
    found = [scored(dict(order)) for order in permutations(states.items())]
    assert found == pytest.approx([found[0]] * 6, abs=1e-12)


def test_an_answer_doubted_anyway_is_no_news() -> None:
    """With its usual chance of being wrong above the careless one, both readings are the same."""
    assert scored({"a": "bad", "b": "bad", "c": "bad"}, careless=0.2, slip=0.25) == 0.0
    assert scored({}) == 0.0
