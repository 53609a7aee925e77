"""The posterior against pyAgrum and plain enumeration. Published numbers: test_published.py."""

from dataclasses import replace
from itertools import accumulate, permutations

import numpy as np
import pytest

from diagnose.core.compile import compile_network
from diagnose.core.course import evidence_weight
from diagnose.core.posterior import ImpossibleEvidence, absorb, prior, update
from diagnose.core.reason import Reasoner
from diagnose.model.visit import Answer, Observation, Setup
from tests.build import cause, check, knowledge, network, table
from tests.core.reference import (
    Case,
    as_pyagrum,
    belief_of,
    by_enumeration,
    by_pyagrum,
    compiled,
    gum,
    random_case,
)

SEEDS = range(60)
NO = ("no", "yes")


def small_case(seed: int, two_fault_odds: float = 0.1) -> Case:
    rng = np.random.default_rng(seed)
    return random_case(rng, int(rng.integers(3, 8)), int(rng.integers(3, 7)), two_fault_odds)


@pytest.mark.parametrize("seed", SEEDS)
def test_equals_pyagrum_given_one_or_two_faults(seed: int) -> None:
    """Source: pyAgrum 3.x LazyPropagation, conditioned on its count of faults being 1 or 2. Target T2: 1e-9."""
    case = small_case(seed)
    belief = belief_of(case)
    alone, both, evidence = by_pyagrum(case, faults=(1, 2))
    for name, p in alone.items():
        assert belief.probability(name) == pytest.approx(p, abs=1e-9)
    for (a, b), p in both.items():
        assert belief.weights[belief.network.index(a), belief.network.index(b)] == pytest.approx(p, abs=1e-9)
    assert np.exp(belief.log_evidence) == pytest.approx(evidence, rel=1e-9)  # T3


def test_limit_of_two_causes_costs_little(capsys: pytest.CaptureFixture[str]) -> None:
    """Against pyAgrum given only 'at least one fault', two_fault_odds 0.1 as shipped, evidence at random.

    Measured over these 200 networks: mean of the largest error per network 0.0073, p95 0.021, worst 0.056,
    leader never changed. The bounds stand a little above.
    """
    errors, same_leader = [], []
    for seed in range(200):
        case = small_case(seed)
        belief, (alone, _, _) = belief_of(case), by_pyagrum(case, faults=range(1, 8))
        errors.append(max(abs(belief.probability(c) - p) for c, p in alone.items()))
        same_leader.append(belief.ranked()[0][0] == max(alone, key=lambda c: alone[c]))
    mean, p95, worst = float(np.mean(errors)), float(np.quantile(errors, 0.95)), max(errors)
    with capsys.disabled():
        print(f"\ntwo-cause limit: mean {mean:.4f}, p95 {p95:.4f}, worst {worst:.4f}, leader {np.mean(same_leader)}")
    assert mean < 0.008 and p95 < 0.025 and worst < 0.06
    assert np.mean(same_leader) >= 0.99


@pytest.mark.parametrize("seed", range(30))
def test_equals_enumeration(seed: int) -> None:
    """Source: sets of causes gone through one by one, findings as maxima of independent effects. T1: 1e-12."""
    rng = np.random.default_rng(1000 + seed)
    case = random_case(rng, int(rng.integers(1, 13)), int(rng.integers(1, 9)))
    belief, (alone, evidence) = belief_of(case), by_enumeration(case)
    assert max(abs(belief.probability(c) - p) for c, p in alone.items()) <= 1e-12
    assert np.exp(belief.log_evidence) == pytest.approx(evidence, rel=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_complaint_is_a_finding_mixed_half_and_half(seed: int) -> None:
    """Source: Bayes' rule by enumeration; a complaint under two causes is reported as either, half and half."""
    rng = np.random.default_rng(seed)
    words = [{"typical": 8.0, "often": 4.0}.get(w, 0.08) for w in rng.choice(["typical", "often", "floor"], 9)]
    shown = np.array(words).reshape(3, 3)
    names, labels = ("stuck", "erratic", "late"), {8.0: "typical", 4.0: "often"}
    causes = [
        cause(f"c{i}", {}, complaints={n: labels[w] for n, w in zip(names, row, strict=True) if w in labels})
        for i, row in enumerate(shown)
    ]
    net = compile_network(knowledge(causes, complaints=names))
    alone = shown[:, 0] / shown.sum(axis=1)
    odds = 0.1  # three equal causes: 3 odds^2 / (3 odds) must be two_fault_odds = 0.1
    cells: dict[tuple[int, ...], float] = {(i,): odds * alone[i] for i in range(3)}
    cells |= {(i, j): odds**2 * (alone[i] + alone[j]) / 2 for i, j in ((0, 1), (0, 2), (1, 2))}
    belief = prior(net, "stuck")
    for i in range(3):
        expected = sum(w for s, w in cells.items() if i in s) / sum(cells.values())
        assert belief.probability(f"c{i}") == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("two_fault_odds", [0.01, 0.1, 0.3])
def test_prior_has_the_stated_odds_of_a_second_fault(two_fault_odds: float) -> None:
    """Definition in model.knowledge.Settings; shares in the proportion of scales.frequency."""
    case = small_case(3, two_fault_odds)
    belief = prior(compile_network(compiled(case)))
    alone = belief.marginals[0]
    assert (1 - alone) / alone == pytest.approx(two_fault_odds, rel=1e-12)
    shares = belief.weights[0, 1:] / np.array(list(case.share.values()))
    assert shares == pytest.approx(shares[0], rel=1e-12)


def test_evidence_has_probability_one_before_any() -> None:
    """Definition: log_evidence is ln P(evidence | a fault), so 0 with no evidence at all."""
    assert prior(compile_network(compiled(small_case(0)))).log_evidence == 0.0


@pytest.mark.parametrize("seed", range(10))
def test_order_of_answers_does_not_matter(seed: int) -> None:
    """Target T4: 1e-12."""
    case = replace(small_case(seed), two_fault_odds=0.2)
    names = list(case.evidence)[:4]
    case = replace(case, evidence={n: case.evidence[n] for n in names})
    reference = belief_of(case).weights
    for order in permutations(names):
        assert np.abs(belief_of(case, order).weights - reference).max() <= 1e-12


def two_check_knowledge() -> Reasoner:
    causes = [
        cause("loose", {"lamp": {"out": 0.8}, "hum": {"yes": 0.3}}),
        cause("wet", {"lamp": {"out": 0.2}, "hum": {"yes": 0.7}}),
        cause("something_else", {"hum": {"yes": 0.1}}),
    ]
    checks = [check("lamp", ("on", "out"), {"out": 0.05}), check("hum", NO, {"yes": 0.05})]
    return Reasoner(knowledge(causes, checks, complaints=("stuck",)))


@pytest.mark.parametrize("silence", ["dont_know", "cant_check", "skip"])
def test_no_answer_changes_nothing(silence: str) -> None:
    """Target T5: exactly 0."""
    reasoner, lamp = two_check_knowledge(), Answer("lamp", "out")
    heard = reasoner.conclude(Setup(), "stuck", (lamp,)).belief
    after = reasoner.conclude(Setup(), "stuck", (Answer("hum", silence), lamp)).belief
    assert np.array_equal(heard.weights, after.weights) and heard.log_evidence == after.log_evidence


def test_unsure_answer_moves_less() -> None:
    reasoner = two_check_knowledge()
    start, unsure, sure = (
        reasoner.conclude(Setup(), "stuck", given).belief.probability("loose")
        for given in ((), (Answer("lamp", "out", sure=False),), (Answer("lamp", "out"),))
    )
    assert start < unsure < sure


def test_slip_is_virtual_evidence() -> None:
    """Pearl (1988), from memory: a report that errs with chance s multiplies by 1-s where true and s where not."""
    net = network({"a": 0.2, "b": 0.1}, [table("f", NO, (0.95, 0.05), [(0.3, 0.7), (0.8, 0.2)])])
    seen = [Observation("f", "yes"), Observation("f", "yes", sure=False)]
    _, once, twice = accumulate(seen, lambda b, o: absorb(b, o, 0.02 if o.sure else 0.2), initial=prior(net))
    yes = {"a": 1 - 0.95 * 0.3, "b": 1 - 0.95 * 0.8}
    heard = {c: 0.98 * p + 0.02 * (1 - p) for c, p in yes.items()}
    ratio = once.weights[0, 1] / once.weights[0, 2]
    assert ratio == pytest.approx(2 * heard["a"] / heard["b"], rel=1e-12)
    again = {c: 0.8 * p + 0.2 * (1 - p) for c, p in yes.items()}
    assert twice.weights[0, 1] / twice.weights[0, 2] == pytest.approx(ratio * again["a"] / again["b"], rel=1e-12)


def test_slip_is_shared_among_the_other_states() -> None:
    graded = table("f", ("none", "some", "always"), (1, 0, 0), [(0.5, 0.5, 0.0)])
    assert evidence_weight(graded, "some", 0.1) == pytest.approx([0.05, 0.9, 0.05])


def test_impossible_evidence_is_refused() -> None:
    never = table("f", NO, (1.0, 0.0), [(1.0, 0.0), (1.0, 0.0)])
    start = prior(network({"a": 0.1, "b": 0.1}, [never]))
    with pytest.raises(ImpossibleEvidence, match="re-check"):
        update(start, never, np.array([0.0, 1.0]))


def test_pyagrum_reference_uses_the_same_priors() -> None:
    """Guards the reference: its count node and ours agree on P(two faults) / P(one fault) before evidence."""
    case = small_case(7)
    engine = gum.LazyPropagation(as_pyagrum(case))
    engine.makeInference()
    counted = engine.posterior("faults").tolist()
    assert counted[2] / counted[1] == pytest.approx(case.two_fault_odds, rel=1e-9)
