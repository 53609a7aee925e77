"""A case is played through the real session to its end."""

from typing import Any

import numpy as np
import pytest
from scipy.stats import entropy as kullback_leibler

from diagnose.cases.model import Fault, FieldCase
from diagnose.cases.play import MOST_WRONG, CasePlayer, Played, Spoil, moved
from diagnose.cases.result import CaseResult, result_of
from diagnose.cases.runs import CaseRun, planted, played, start_worker
from diagnose.cases.ways import WAYS
from diagnose.core.posterior import absorb, chance_of, prior
from diagnose.model.visit import Observation
from tests.cases import made


def play(case: FieldCase, way: str = "tool", **spoil: Any) -> Played:
    return CasePlayer(made.reasoner(), case, 1, WAYS[way](0.9), Spoil(**spoil)).play()


def result(case: FieldCase, **spoil: Any) -> CaseResult:
    return result_of(made.small(), play(case, **spoil))


def test_a_plain_fault_is_found_first_and_mended_at_the_first_remedy() -> None:
    found = result(made.case())
    assert (found.first, found.first_remedy_right, found.ended, found.wrong_remedies) == (True, True, "mended", 0)
    assert found.questions >= 1
    assert found.minutes > 10


@pytest.mark.parametrize("way", WAYS)
def test_every_way_of_asking_reaches_an_end(way: str) -> None:
    assert play(made.case(), way).ended == "mended"


def test_both_of_two_faults_are_mended_one_after_the_other() -> None:
    got = play(made.pair())
    assert got.ended == "mended"
    assert {r.mended for r in got.remedies} == {0, 1}


def test_a_fault_without_an_entry_counts_as_wrong_and_is_given_up_after_three_remedies() -> None:
    case = made.case(faults=(Fault(says="odd"),), states={"start": made.state({"lamp": "out", "volts": "none"})})
    found = result(case)
    assert not found.first
    assert not found.covered
    assert found.concluded.rank == 0
    assert not found.mended
    assert found.wrong_remedies <= MOST_WRONG


def test_a_call_goes_on_as_the_technician_who_is_sent() -> None:
    found = play(made.case(who="caller_no_tools"))
    assert [p.on_site for p in found.parts][:2] == [False, True]
    assert all(not a.forbidden for a in found.asked)
    assert found.ended == "mended"


def test_a_repair_that_did_not_take_is_told_from_a_wrong_one() -> None:
    got, found = play(made.case(), botched=1.0), result(made.case(), botched=1.0)
    assert (got.remedies[0].botched, got.remedies[0].mended) == (True, None)
    assert found.first_remedy_right
    assert found.wrong_remedies == sum(r.cause != "unplugged" for r in got.remedies)
    assert found.botched_found == (got.remedies[1].cause == "unplugged")


def test_an_outside_case_is_recognised_when_nothing_listed_fits() -> None:
    case = made.case(
        difficulty="outside_list", faults=(), states={"start": made.state({}, healthy=("lamp", "volts"))}
    )
    found = result(case)
    assert (found.kind, found.outside, found.first, found.ended) == ("outside", True, True, "outside")


def test_a_planted_answer_means_another_state_and_is_one_that_was_asked() -> None:
    kb, task = made.small(), CaseRun(made.case())
    start_worker(kb)
    clean = played(task)
    wrong = planted(kb, task, clean)
    assert wrong is not None
    ((check, value),) = wrong.spoil.wrong.items()
    told = {t.check: t.value for t in clean.told}
    assert check in told
    assert value != told[check]
    assert {t.check: t.value for t in played(wrong).told}[check] == value


def test_what_this_person_must_not_be_asked_is_counted() -> None:
    case = made.case(encoded={"must_not": ("lamp", "volts", "bracket", "window", "contact")})
    assert set(result(case).forbidden) == {a.check for a in play(case).asked} - {"shape"}


def test_a_wrong_complaint_among_those_offered_for_the_words_is_seen() -> None:
    assert result(made.case()).heard == 1
    assert result(made.case(complaint="zzz qqq")).heard == 0


def test_how_far_an_answer_moved_the_belief_is_the_kullback_leibler_divergence() -> None:
    network = made.reasoner().network(("loop",))
    before = prior(network)
    after = absorb(before, Observation("lamp", "out"), 0.02)
    upper = np.triu_indices_from(before.weights)
    p, q = after.weights[upper], before.weights[upper]
    there = (p > 0) & (q > 0)
    assert moved(before, after) == pytest.approx(kullback_leibler(p[there], q[there], base=2), rel=1e-9)


def test_the_chance_of_any_of_several_causes_is_the_sum_over_the_sets_that_hold_one() -> None:
    belief = prior(made.reasoner().network(("loop",)))
    for wanted in (["bent"], ["bent", "dirty"], ["bent", "unknown here"], []):
        sets = belief.sets(most=10_000)
        assert chance_of(belief, wanted) == pytest.approx(sum(p for s, p in sets if set(s) & set(wanted)), abs=1e-12)
