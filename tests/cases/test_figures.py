"""Figures of cases against general-purpose references, and what counts as what."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binomtest, norm, ttest_1samp

from diagnose.cases.baseline import (
    FIGURES,
    LESS_IS_BETTER,
    as_text,
    changes,
    raised,
    read_record,
    recorded,
    sign_test,
)
from diagnose.cases.figures import Share, case_figures, entries_to_look_at, planted_figures
from diagnose.cases.model import Fault, FieldCase
from diagnose.cases.play import CasePlayer
from diagnose.cases.result import CaseResult, result_of
from diagnose.cases.ways import WAYS
from diagnose.errors import KnowledgeError
from tests.cases import made


def result(case: FieldCase) -> CaseResult:
    return result_of(made.small(), CasePlayer(made.reasoner(), case, 1, WAYS["tool"](0.9)).play())


@given(st.integers(1, 300), st.data())
def test_the_interval_of_a_share_is_wilsons(count: int, data: st.DataObject) -> None:
    """scipy.stats.binomtest, method 'wilson' (without continuity correction)."""
    hits = data.draw(st.integers(0, count))
    low, high = Share(hits, count).interval
    reference = binomtest(hits, count).proportion_ci(method="wilson")
    assert low == pytest.approx(reference.low, abs=1e-6)
    assert high == pytest.approx(reference.high, abs=1e-6)


@given(st.integers(0, 60), st.integers(0, 60))
def test_the_sign_test_is_the_binomial_one(lost: int, won: int) -> None:
    """scipy.stats.binomtest, one-sided."""
    reference = binomtest(lost, lost + won, 0.5, "greater").pvalue if lost + won else 1.0
    assert sign_test(lost, won) == pytest.approx(reference, rel=1e-9)


def test_a_fault_without_an_entry_counts_as_wrong_in_all_and_is_left_out_of_the_covered() -> None:
    good, bare = result(made.case()), replace(result(made.case()), id="c2", covered=False)
    bare = replace(bare, concluded=replace(bare.concluded, rank=0))
    found = case_figures([good, bare])
    assert (found.first.hits, found.first.count) == (1, 2)
    assert (found.covered_first.hits, found.covered_first.count) == (1, 1)
    assert (found.covered.hits, found.covered.count) == (1, 2)


def test_log_score_is_minus_the_logarithm_of_the_chance_given_to_the_truth() -> None:
    one = result(made.case())
    for truth, bits in ((0.5, 1.0), (0.25, 2.0), (1.0, 0.0)):
        assert case_figures([replace(one, concluded=replace(one.concluded, truth=truth))]).log_score.value == bits


def test_planted_answers_that_displace_the_truth_are_counted_among_all_and_the_questioned_among_them() -> None:
    clean = [replace(result(made.case()), id=i) for i in ("a", "b", "c")]
    lost = [replace(r, concluded=replace(r.concluded, rank=2)) for r in clean[:2]]
    found = planted_figures(
        clean, [("lamp", replace(lost[0], doubted=("lamp",))), ("lamp", lost[1]), ("lamp", clean[2])]
    )
    assert (found.displaced.hits, found.displaced.count) == (2, 3)
    assert (found.questioned.hits, found.questioned.count) == (1, 2)
    assert found.first_falls.value == pytest.approx(2 / 3)


def test_what_counts_against_the_truth_is_named_with_its_entry() -> None:
    """The truth is a bent bracket that nobody can see; the lamp, out for another reason, speaks against it."""
    case = made.case(
        faults=(Fault(says="bent", mended_by=("bent",)),),
        states={"start": made.state({"lamp": "out", "volts": "none"}, healthy=("bracket",))},
    )
    found = result(case)
    assert ("lamp", "out") in {(a.finding, a.state) for a in found.against}
    entries = entries_to_look_at([found])
    assert {e.cause for e in entries} == {"bent"}
    assert [e.decibans for e in entries] == sorted((e.decibans for e in entries), reverse=True)


def test_a_fall_beyond_chance_is_seen_and_one_lost_case_is_not() -> None:
    before = {f"c{i}": _all(1.0) for i in range(20)}
    few = {c: {**_all(1.0), "first": float(c != "c0")} for c in before}
    many = {c: {**_all(1.0), "first": float(int(c[1:]) > 6)} for c in before}
    assert not any(c.fell for c in changes(before, few))
    assert [c.figure for c in changes(before, many) if c.fell] == ["first"]


@given(st.lists(st.floats(-5, 5, allow_nan=False), min_size=3, max_size=30))
def test_a_number_rises_beyond_noise_where_the_paired_test_says_so(differences: list[float]) -> None:
    """scipy's one-sample t statistic against the normal quantile; questions: less is better."""
    assume(np.std(differences) > 0.01)
    name = "questions until concluded"
    before = {f"c{i}": {**_all(1.0), name: 20.0} for i in range(len(differences))}
    after = {f"c{i}": {**_all(1.0), name: 20.0 + d} for i, d in enumerate(differences)}
    (found,) = (c for c in changes(before, after) if c.figure == name)
    assert found.fell == (ttest_1samp(differences, 0.0).statistic > norm.ppf(0.95))


def test_a_record_is_raised_by_what_improved_and_never_lowered() -> None:
    before = {"c0": {**_all(1.0), "log score": 2.0}, "c1": {**_all(0.0), "log score": 3.0}}
    better = {"c0": {**_all(1.0), "log score": 1.0}, "c1": {**_all(1.0), "log score": 3.0}}
    none = dict.fromkeys(("questions until concluded", "wrong remedies", "minutes of checks until concluded"), 0.0)
    better = {c: {**r, **none} for c, r in better.items()}
    worse = {"c0": _worse(before["c0"]), "c1": _worse(before["c1"])}
    assert raised(before, better) == better
    assert raised(before, worse) == before


def _worse(record: Mapping[str, float]) -> dict[str, float]:
    return {n: (x + 1.0 if n in LESS_IS_BETTER else 0.0) for n, x in record.items()}


def test_a_record_survives_its_file(tmp_path: Path) -> None:
    record = recorded([result(made.case())])
    path = tmp_path / "record.json"
    path.write_text(as_text(record), "utf-8")
    assert read_record(path) == record
    assert read_record(tmp_path / "absent.json") == {}


@pytest.mark.parametrize("text", ["{", "[]", '{"a": 1}', '{"a": {"first": "yes"}}', "\x00"])
def test_a_spoiled_record_is_refused_in_a_sentence(tmp_path: Path, text: str) -> None:
    path = tmp_path / "record.json"
    path.write_text(text, "utf-8")
    with pytest.raises(KnowledgeError, match="record"):
        read_record(path)


def _all(held: float) -> dict[str, float]:
    return dict.fromkeys(FIGURES, held)
