"""Simulated visits: the same faults under every condition, troubles as large as they say, any number of processes."""

from functools import cache
from typing import Any

import numpy as np
import pytest

from diagnose.core.reason import Reasoner
from diagnose.measure import runs
from diagnose.measure.conditions import CONDITIONS
from diagnose.measure.policies import POLICIES
from diagnose.measure.runs import SimulationTask, run, seeds, simulated
from diagnose.measure.simulate import SimulatedVisit, Trouble, draw_case
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from tests.build import cause, check, knowledge

STATES = ("ok", "bad")
LOOKS = ("half", *(f"look{i}" for i in range(6)))


@cache
def made() -> KnowledgeBase:
    """Six causes, each with a look of its own, one look they share in halves, and the outside cause."""
    causes = [
        cause(
            f"c{i}",
            {f"look{i}": {"bad": 0.9}, "half": {"bad": 0.85 if i < 3 else 0.05}},
            complaints={"stuck": "often"},
            minutes=20.0,
        )
        for i in range(6)
    ]
    outside = cause("something_else", {}, complaints={"stuck": "often"})
    checks = [check(n, STATES, {"bad": 0.02}, minutes=3.0) for n in LOOKS]
    return knowledge([*causes, outside], checks, complaints=["stuck"])


@pytest.fixture
def worker() -> None:
    runs.start_worker(made())


def visits(many: int = 12, **more: Any) -> list[SimulatedVisit]:
    return [simulated(SimulationTask(s, Setup(), **more)) for s in seeds(many, 1)]


@pytest.mark.usefixtures("worker")
def test_every_policy_and_condition_meets_the_same_faults() -> None:
    truths = {tuple(o.case.truth for o in visits(policy=p)) for p in POLICIES}
    truths |= {tuple(o.case.truth for o in visits(condition=c)) for c in CONDITIONS}
    assert len(truths) == 1


@pytest.mark.usefixtures("worker")
def test_the_tool_reasons_with_the_disturbed_knowledge_and_answers_come_from_the_one_as_written() -> None:
    written, noisy = visits(), visits(condition="noise_full")
    assert [o.case.states for o in written] == [o.case.states for o in noisy]
    assert [o.ranked for o in written] != [o.ranked for o in noisy]


def test_any_number_of_processes_gives_the_same_visits() -> None:
    tasks = [SimulationTask(s, Setup(), condition="snapped") for s in seeds(6, 3)]
    assert list(run(made(), tasks, 1)) == list(run(made(), tasks, 2))


@pytest.mark.parametrize(("field", "share"), [("wrong", 0.1), ("unknown", 0.2), ("barred", 1 / 3)])
def test_troubles_are_as_frequent_as_stated(field: str, share: float) -> None:
    """Binomial: within 4 standard deviations."""
    kb, network = made(), Reasoner(made()).network(())
    trouble = Trouble(slip=share) if field == "wrong" else Trouble(**{field: share})
    cases = [draw_case(network, kb, s, trouble) for s in range(300)]
    n = 300 * len(LOOKS)
    assert abs(sum(len(getattr(c, field)) for c in cases) - n * share) < 4 * np.sqrt(n * share * (1 - share))


@pytest.mark.usefixtures("worker")
def test_what_cannot_be_answered_counts_for_nothing_and_what_cannot_be_done_costs_the_asking() -> None:
    impossible = visits(40, condition="third_barred")
    unknown = visits(40, condition="unknown_10")
    refused = [a for o in impossible for a in o.asked if a.check in o.case.barred]
    assert refused and {a.minutes for a in refused} == {0.5}
    looked = [a for o in unknown for a in o.asked if a.check in o.case.unknown]
    assert looked and {a.minutes for a in looked} == {3.0}
    for outcome in (*impossible, *unknown):
        lost = outcome.case.barred | outcome.case.unknown
        assert all(not a.says_something for a in outcome.answers if a.check in lost)


@pytest.mark.usefixtures("worker")
def test_a_missing_check_is_never_asked_and_costs_nothing() -> None:
    without = [simulated(SimulationTask(s, Setup(), missing=("half",))) for s in seeds(12, 1)]
    assert any("half" in o.checks for o in visits())
    assert not any("half" in o.checks for o in without)
    assert all(o.check_minutes == 3.0 * len(o.asked) for o in without)


@pytest.mark.usefixtures("worker")
def test_without_checks_only_repairs_are_spent() -> None:
    """By hand: 20 minutes and 5 of proof each, until mended; or the specialist's 240 at once."""
    for outcome in visits(policy="no_checks"):
        assert outcome.check_minutes == 0.0 and not outcome.asked
        assert outcome.minutes % 5.0 == 0.0 and outcome.minutes >= 25.0
