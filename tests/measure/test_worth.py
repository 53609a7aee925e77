"""What checks are worth and where a new one would help, worked by hand on made-up visits."""

import pytest

from diagnose.core.reason import Reasoner
from diagnose.measure.figures import confusions, difference, figures
from diagnose.measure.runs import SimulationTask
from diagnose.measure.simulate import SimulatedCheck, SimulatedGate, SimulatedVisit
from diagnose.measure.worth import FEWEST_VISITS, cause_needs, check_worths, most_asked, tasks_without
from diagnose.model.visit import Setup
from tests.measure.test_runs import made


def visit(truth: str, first: str, asked: tuple[SimulatedCheck, ...] = (), repairs: float = 100.0) -> SimulatedVisit:
    ranked = ((first, 0.8), *((c, 0.1) for c in ("c0", "c1") if c != first))
    return SimulatedVisit(SimulatedGate((truth,), "stuck", {}), ranked, 2.0, asked, (), repairs)


TWO = (SimulatedCheck("half", 3.0, saves=10.0, bits=0.5), SimulatedCheck("look0", 5.0, saves=4.0, bits=0.3))
VISITS = [visit("c0", "c0", TWO), visit("c1", "c0", TWO[:1]), visit("c1", "c1"), visit("c0", "c0", TWO)]


def test_worth_is_counted_over_the_visits_that_asked() -> None:
    half, look = check_worths(VISITS)
    assert (half.check, half.share, half.minutes, half.saves, half.bits) == ("half", 0.75, 3.0, 10.0, 0.5)
    assert (look.check, look.share, look.lost) == ("look0", 0.5, None)
    assert most_asked(VISITS) == ["half", "look0"]


def test_what_is_lost_without_a_check_is_counted_visit_by_visit() -> None:
    """By hand: 108 and 108 minutes with look0 (3 + 5 + 100), 118 and 128 without it: 15 lost on average."""
    again = [visit("c0", "c1", TWO[:1], 115.0), visit("c0", "c1", TWO[:1], 125.0)]
    lost = check_worths(VISITS, {"look0": again})[1].lost
    assert lost is not None and lost.value == pytest.approx(15.0) and lost.count == 2
    assert lost.margin == pytest.approx(1.96 * 5.0)  # two differences 10 and 20: deviation 7.07, over root 2


def test_only_visits_that_asked_are_run_again() -> None:
    tasks = [SimulationTask(s, Setup()) for s in range(4)]
    again = tasks_without(tasks, VISITS, "look0")
    assert [(t.seed, t.missing) for t in again] == [(0, ("look0",)), (3, ("look0",))]


def test_a_cause_needs_a_check_by_what_its_visits_lose() -> None:
    """By hand: at once = 5 minutes of the new check, 20 of repair, 5 of proof; visits of 130 minutes lose 100."""
    outcomes = [visit("c1", "c0", (), 130.0)] * FEWEST_VISITS + [visit("c0", "c0", (), 30.0)] * (FEWEST_VISITS - 1)
    outcomes += [visit("something_else", "c0", (), 240.0)] * FEWEST_VISITS  # no check tells what is not on the list
    reasoner = Reasoner(made())
    (need,) = cause_needs(reasoner, (), outcomes)
    assert (need.cause, need.named, need.wasted.value) == ("c1", 0.0, 100.0)
    assert need.value == pytest.approx(need.probability * 100.0)
    assert 1 / 7 < need.probability < 2 / 7  # seven causes equally common, and now and then two at once


def test_figures_and_confusions_by_hand() -> None:
    found = figures(VISITS)
    assert (found.cases, found.first.value, found.listed_three.value) == (4, 0.75, 1.0)
    assert found.minutes.value == pytest.approx((108 + 103 + 100 + 108) / 4)
    assert found.checks.value == pytest.approx(5 / 4)
    assert found.both_in_three.count == 0
    assert found.calibration.surplus == pytest.approx(0.8 - 0.75)
    assert confusions(VISITS) == [(("c1", "c0"), 1)]


def test_paired_differences_cancel_what_both_share() -> None:
    paired = difference([101.0, 201.0, 301.0], [100.0, 200.0, 300.0])
    assert (paired.value, paired.margin) == (1.0, 0.0)
