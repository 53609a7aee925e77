"""The choice of the next check against the exact optimum, worked examples and plain recomputation."""

import numpy as np
import pytest

from diagnose.core.course import evidence_weight
from diagnose.core.network import Floats
from diagnose.core.policy import Costs, Gain, Option, choose, look_ahead, most_telling
from diagnose.core.posterior import Belief, prior, update
from diagnose.core.repair import expected_cost
from diagnose.measure.optimal import SmallProblem, expected_minutes, joint, optimum, stacked
from diagnose.measure.small import Corner, choosers, follow, next_repair
from tests.build import knowledge, network, single_fault, table
from tests.core.reference import belief_of, random_case
from tests.optimal import binary, positive, random_problem

RESULT = ("negative", "positive")
PROBLEMS = [random_problem(np.random.default_rng(seed)) for seed in range(200)]
BEST = optimum(stacked(PROBLEMS))


def belief_of_problem(problem: SmallProblem) -> Belief:
    """The problem as a network of the product, with single-cause cells only."""
    rows = [[(1 - p, p) for p in row] for row in positive(problem)]
    tables = [table(f"t{t}", RESULT, (1, 0), row) for t, row in enumerate(rows)]
    return single_fault(network({f"c{i}": float(p) for i, p in enumerate(problem.prior)}, tables))


def corner_of(problem: SmallProblem) -> Corner:
    """The problem as the tool's own look-ahead takes it, without wrong answers."""
    network = belief_of_problem(problem).network
    options = tuple(Option(f"t{t}", f"t{t}", float(minutes)) for t, minutes in enumerate(problem.test))
    return Corner(problem, network, options, slip=0.0)


def gaps(way: str, many: int) -> Floats:
    """Over the optimum, relative, for one of the ways of asking that `diagnose measure --small` compares."""
    chooser = choosers(knowledge(), np.random.default_rng(0))[way]
    spent = np.array([expected_minutes(p, follow(corner_of(p), chooser)) for p in PROBLEMS[:many]])
    return np.asarray(spent / BEST[:many] - 1.0)


def test_close_to_the_exact_optimum(capsys: pytest.CaptureFixture[str]) -> None:
    """Source: dynamic programming (measure/optimal.py) on 200 random problems, 5 causes x 5 noisy tests. Target T8,
    tightened: mean <= 1.5 %, p95 <= 5 %, worst <= 15 %. Measured: 1.0 %, 3.9 %, 5.7 %; the baselines in the same
    run 13 % (no questions) and 42 % (information per minute, first 40 problems).
    """
    ours = gaps("minutes_only", 200)
    no_questions, information = gaps("no_checks", 200), gaps("entropy", 40)
    with capsys.disabled():
        for name, gap in (("ours", ours), ("no questions", no_questions), ("information", information)):
            print(
                f"\nover optimum, {name}: mean {gap.mean():.2%} p95 {np.quantile(gap, 0.95):.2%} max {gap.max():.2%}"
            )
    assert min(ours.min(), no_questions.min(), information.min()) > -1e-9  # nothing beats the optimum
    assert ours.mean() <= 0.015 and np.quantile(ours, 0.95) <= 0.05 and ours.max() <= 0.15
    assert ours.mean() < no_questions.mean() / 5 and ours[:40].mean() < information.mean() / 5


def test_being_surer_than_minutes_ask_for_has_its_price(capsys: pytest.CaptureFixture[str]) -> None:
    """Reasoner asks on below `conclude_at` when a check still tells `least_bits_per_minute`. Not optimal in minutes:
    measured 26 % over the optimum here, where causes are few and repairs cheap. Bound a little above.
    """
    product = gaps("tool", 60)
    with capsys.disabled():
        print(f"\nover optimum, asking on until 90 %: mean {product.mean():.2%} p95 {np.quantile(product, 0.95):.2%}")
    assert product.min() > -1e-9 and product.mean() <= 0.30


def test_optimum_knows_w5() -> None:
    """W5 (self-made there, exhaustive over 120 orders): best expected cost of repair 34.85. Guards the reference."""
    w5 = binary(
        prior=np.array([0.35, 0.30, 0.20, 0.10, 0.05]),
        positive=np.zeros((0, 5)),
        test=np.zeros(0),
        repair=np.array([25.0, 10.0, 40.0, 4.0, 1.0]),
        specialist=1e6,
    )
    assert optimum(w5) == pytest.approx(34.85, abs=1e-9)
    assert expected_minutes(w5, lambda p, s: next_repair(p, joint(p, s))) == pytest.approx(34.85, abs=1e-9)


def two_bits() -> tuple[Belief, list[Option]]:
    """Four equal causes; t0 tells the first pair from the second, t1 the odd from the even."""
    sure = [(1.0, 0.0), (0.0, 1.0)]
    tables = [table("t0", RESULT, (1, 0), [sure[i // 2] for i in range(4)])]
    tables.append(table("t1", RESULT, (1, 0), [sure[i % 2] for i in range(4)]))
    belief = single_fault(network({f"c{i}": 0.25 for i in range(4)}, tables))
    return belief, [Option("t0", "t0", 1.0), Option("t1", "t1", 1.0)]


def test_pair_of_tests_that_only_pay_together() -> None:
    """Like W13, in numbers a cause list can hold: repairs 100, specialist 140. Either test alone saves nothing
    (140 or 150 remain); both leave 100, so 102 in all. By hand: knowing outright saves 40 over 2 bits.
    """
    belief, options = two_bits()
    gains = look_ahead(belief, options, Costs(np.full(4, 100.0), 140.0), slip=0.0)
    assert [g.saves for g in gains] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert [g.worth for g in gains] == pytest.approx([20.0, 20.0], abs=1e-9)
    first = choose(gains)
    assert first is not None and not first.pays
    after = update(belief, belief.network.tables["t0"], np.array([1.0, 0.0]))
    last = look_ahead(after, options[1:], Costs(np.full(4, 100.0), 140.0), slip=0.0)
    assert last[0].saves == pytest.approx(40.0) and choose(last) is last[0]


def test_w13_xor_is_beyond_one_step() -> None:
    """W13 (self-made there): two coins that tell the cause only as a pair. Each carries no information alone,
    and findings here are independent given the causes, so neither is asked: cost 150. Documented, not hidden.
    """
    coin = [(0.5, 0.5), (0.5, 0.5)]
    belief = single_fault(network({"h1": 1.0, "h2": 1.0}, [table(t, RESULT, (1, 0), coin) for t in ("t1", "t2")]))
    costs = Costs(np.full(2, 100.0), 1e6)
    assert expected_cost(belief.marginals[None, 1:], costs.repair, 1e6)[0] == pytest.approx(150.0)
    gains = look_ahead(belief, [Option("t1", "t1", 1.0), Option("t2", "t2", 1.0)], costs, slip=0.0)
    assert all(g.saves == pytest.approx(0.0, abs=1e-9) and g.bits == pytest.approx(0.0, abs=1e-9) for g in gains)
    assert choose(gains) is None


@pytest.mark.parametrize("copies", [1, 2])
def test_w10_worthless_test_is_not_asked(copies: int) -> None:
    """W10 (Russell & Norvig, exercise on buying a car): test 50, value of information 0, P(good) .7 -> .842/.418.

    As minutes: not buying = specialist 700; buying = a 'repair' of 200 that succeeds if the car is good.
    700 minus our cost is then the book's expected utility: 290 now, and after either result.
    """
    tables = [table(f"test{i}", ("pass", "fail"), (1, 0), [(0.8, 0.2), (0.35, 0.65)]) for i in range(copies)]
    belief = single_fault(network({"good": 0.7, "bad": 0.3}, tables))
    costs = Costs(np.array([200.0, 1e9]), 700.0)
    gains = look_ahead(belief, [Option(t.id, t.id, 50.0) for t in tables], costs, slip=0.0)
    assert gains[0].chances == pytest.approx((0.665, 0.335), abs=1e-12)
    after = [update(belief, tables[0], row) for row in np.eye(2)]
    assert [b.probability("good") for b in after] == pytest.approx([0.842105, 0.417910], abs=1e-6)
    utility = [700 - expected_cost(b.marginals[None, 1:], costs.repair, 700.0)[0] for b in (belief, *after)]
    assert utility == pytest.approx([290.0, 389.474, 92.537], abs=1e-3)
    assert gains[0].saves == pytest.approx(0.0, abs=1e-9)
    assert choose(gains) is None


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("slip", [0.0, 0.02])
def test_look_ahead_equals_going_there(seed: int, slip: float) -> None:
    """Every answer is entered for real, with two causes at once and up to four states; then compared."""
    rng = np.random.default_rng(seed)
    belief = belief_of(random_case(rng, int(rng.integers(2, 7)), 5), order=["f0"])
    costs = Costs(rng.uniform(5, 60, len(belief.network.causes)), 100.0)
    options = [Option(f, f, 1.0) for f in ("f3", "f1", "f4")]
    now = expected_cost(belief.marginals[None, 1:], costs.repair, 100.0)[0]
    for gain in look_ahead(belief, options, costs, slip):
        found = belief.network.tables[gain.option.finding]
        spent, bits = 0.0, 0.0
        for state, chance in zip(found.states, gain.chances, strict=True):
            after = update(belief, found, evidence_weight(found, state, slip))
            assert np.exp(after.log_evidence - belief.log_evidence) == pytest.approx(chance, abs=1e-12)
            spent += chance * expected_cost(after.marginals[None, 1:], costs.repair, 100.0)[0]
            bits += chance * divergence(after.marginals[1:], belief.marginals[1:])
        assert (gain.saves, gain.bits) == pytest.approx((now - spent, bits), abs=1e-9)


def divergence(after: Floats, before: Floats) -> float:
    p, q = after / after.sum(), before / before.sum()
    return float(sum(a * np.log2(a / b) for a, b in zip(p, q, strict=True) if a > 0))


def test_worth_is_at_most_what_knowing_the_cause_saves() -> None:
    """A bit is priced so that all open bits together are worth exactly the value of perfect information."""
    for problem in PROBLEMS[:50]:
        belief = belief_of_problem(problem)
        costs = Costs(problem.repair, 240.0)
        now = expected_cost(problem.prior[None, :], problem.repair, 240.0)[0]
        perfect = now - float(problem.prior @ problem.repair)
        for gain in look_ahead(belief, [Option(f"t{t}", f"t{t}", 1.0) for t in range(5)], costs, slip=0.0):
            assert -1e-9 <= gain.saves <= perfect + 1e-9
            assert 0.0 <= gain.worth <= perfect + 1e-9


def gain_of(check: str, saves: float, own: float, group: str = "", opening: float = 0.0, bits: float = 0.0) -> Gain:
    return Gain(Option(check, check, own, group, opening), own + opening, saves, bits, 0.0, ())


def test_shared_cover_is_judged_as_a_set() -> None:
    """By hand, prefix rule of Ottosen & Jensen (UAI 2010): 8 / 11 < 1 alone, (8 + 8) / 12 > 1 together."""
    alone = gain_of("a", 8, 1, "box", 10)
    assert choose([alone]) is None
    assert choose([alone, gain_of("b", 7.9, 1, "box", 10)]) is alone
    assert choose([alone, gain_of("b", 7.9, 1)]) == gain_of("b", 7.9, 1)


def test_best_rate_wins_and_information_breaks_ties() -> None:
    assert choose([gain_of("slow", 30, 20), gain_of("quick", 10, 2)]) == gain_of("quick", 10, 2)
    told = gain_of("told", 10, 2, bits=0.5)
    assert choose([gain_of("dumb", 10, 2), told]) is told


def test_nothing_to_ask() -> None:
    belief = prior(network({"a": 0.1, "b": 0.1}, [table("t", RESULT, (1, 0), [(0.5, 0.5), (0.2, 0.8)])]))
    assert not look_ahead(belief, [], Costs(np.ones(2), 1.0), 0.02)
    assert choose([]) is None and most_telling([]) is None
