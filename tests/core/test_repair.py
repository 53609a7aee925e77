"""Order and cost of repairs against exhaustive search and worked examples."""

from collections.abc import Sequence
from itertools import permutations

import numpy as np
import pytest

from diagnose.core.compile import compile_network
from diagnose.core.explain import repair_order
from diagnose.core.posterior import prior
from diagnose.core.repair import Action, best_order, expected_cost, worth_trying
from tests.build import cause, knowledge

W5 = [Action(n, p, c) for n, p, c in zip("abcde", (0.35, 0.30, 0.20, 0.10, 0.05), (25, 10, 40, 4, 1), strict=True)]


def sequence_cost(actions: Sequence[Action], opening: dict[str, float]) -> float:
    """Expected minutes of doing the actions in this order, one fault, groups opened once and left open."""
    open_groups, left, total = set[str](), 1.0, 0.0
    for action in actions:
        extra = 0.0 if action.group in open_groups else opening.get(action.group, 0.0)
        total += left * (action.minutes + extra)
        open_groups.add(action.group)
        left -= action.probability
    return total


def names(actions: Sequence[Action]) -> str:
    return "".join(str(a.name) for a in actions)


def cheapest(actions: Sequence[Action], opening: dict[str, float]) -> float:
    return min(sequence_cost(order, opening) for order in permutations(actions))


def test_w5_worked_example() -> None:
    """W5 (self-made there, all 120 orders): e b d a c at 34.85; by probability 46.15, by cost 35.05, worst 65.35."""
    ordered = best_order(W5, {"": 0.0})
    assert names(ordered) == "ebdac" and sequence_cost(ordered, {}) == pytest.approx(34.85)
    assert sequence_cost(sorted(W5, key=lambda a: -a.probability), {}) == pytest.approx(46.15)
    assert sequence_cost(sorted(W5, key=lambda a: a.minutes), {}) == pytest.approx(35.05)
    assert max(sequence_cost(o, {}) for o in permutations(W5)) == pytest.approx(65.35)


def test_w5_two_actions() -> None:
    """W5 (public question, cs.stackexchange 144646): p .8/.2, c 3/2 cost 3.4 in one order and 4.4 in the other."""
    first, second = Action("1", 0.8, 3), Action("2", 0.2, 2)
    assert sequence_cost([first, second], {}) == pytest.approx(3.4)
    assert sequence_cost([second, first], {}) == pytest.approx(4.4)
    assert names(best_order([second, first], {"": 0.0})) == "12"


def test_order_equals_the_best_permutation() -> None:
    """Theorem of Kadane & Simon (1977); target T6: 1000 random cases, equal cost in all of them."""
    rng = np.random.default_rng(6)
    for _ in range(1000):
        n = int(rng.integers(2, 6))
        actions = [
            Action(i, p, c)
            for i, (p, c) in enumerate(zip(rng.dirichlet(np.ones(n)), rng.uniform(1, 60, n), strict=True))
        ]
        assert sequence_cost(best_order(actions, {"": 0.0}), {}) == pytest.approx(cheapest(actions, {}), abs=1e-9)


def test_w7_worked_example() -> None:
    """W7 (self-made there, exhaustive): y a b x at 30.40; opening cost ignored 31.65, charged to each 31.60."""
    box = [Action("a", 0.35, 10, "box"), Action("b", 0.30, 12, "box")]
    actions = [*box, Action("x", 0.20, 12), Action("y", 0.15, 5)]
    opening = {"": 0.0, "box": 10.0}
    ordered = best_order(actions, opening)
    assert names(ordered) == "yabx" and sequence_cost(ordered, opening) == pytest.approx(30.40)
    ignoring = sorted(actions, key=lambda a: -a.probability / a.minutes)
    charging = sorted(actions, key=lambda a: -a.probability / (a.minutes + opening[a.group]))
    assert sequence_cost(ignoring, opening) == pytest.approx(31.65)
    assert sequence_cost(charging, opening) == pytest.approx(31.60)


def test_access_groups_equal_exhaustive_search() -> None:
    """Source: all 720 orders, 500 random six-action cases, up to two covers that stay open. T7: all equal."""
    rng = np.random.default_rng(7)
    opening = {"": 0.0, "box": 0.0, "post": 0.0}
    for _ in range(500):
        opening |= {"box": float(rng.uniform(1, 40)), "post": float(rng.uniform(1, 40))}
        shares, minutes, groups = rng.dirichlet(np.ones(6)), rng.uniform(1, 60, 6), rng.choice(list(opening), 6)
        actions = [Action(i, shares[i], minutes[i], str(groups[i])) for i in range(6)]
        assert sequence_cost(best_order(actions, opening), opening) == pytest.approx(
            fastest(actions, opening), abs=1e-9
        )


ORDERS = np.array(list(permutations(range(6))))


def fastest(actions: Sequence[Action], opening: dict[str, float]) -> float:
    """Least `sequence_cost` over all 720 orders, computed for all of them together."""
    share, minutes = (np.array([getattr(a, f) for a in actions])[ORDERS] for f in ("probability", "minutes"))
    left = 1.0 - np.cumsum(share, axis=1) + share
    for group, cost in opening.items():
        inside = np.array([a.group == group for a in actions])[ORDERS]
        minutes = minutes + cost * (inside & (np.cumsum(inside, axis=1) == 1))
    return float((left * minutes).sum(axis=1).min())


def test_expected_cost_equals_every_list_with_every_cut() -> None:
    """Source: every order of every number of repairs, then the specialist. 300 random cases, 1 to 5 causes."""
    rng = np.random.default_rng(8)
    cut = 0
    for _ in range(300):
        n = int(rng.integers(1, 6))
        joint, minutes, specialist = rng.uniform(0.01, 1, n), rng.uniform(5, 120, n), float(rng.uniform(20, 240))
        share = joint / joint.sum()
        best = min(
            list_cost([(share[i], minutes[i]) for i in order[:k]], specialist)
            for order in permutations(range(n))
            for k in range(n + 1)
        )
        assert expected_cost(joint[None, :], minutes, specialist)[0] == pytest.approx(best, abs=1e-9)
        cut += best < list_cost([(share[i], minutes[i]) for i in np.argsort(-share / minutes)], specialist) - 1e-9
    assert cut > 50  # the specialist really cuts lists short in these cases


def list_cost(repairs: Sequence[tuple[float, float]], specialist: float) -> float:
    spent, left = 0.0, 1.0
    for probability, minutes in repairs:
        spent, left = spent + left * minutes, left - probability
    return spent + max(left, 0.0) * specialist


def test_expected_cost_judges_each_row_alone() -> None:
    rng = np.random.default_rng(9)
    joint, minutes = rng.uniform(0.01, 1, (7, 4)), rng.uniform(5, 60, 4)
    alone = [expected_cost(row[None, :], minutes, 100.0)[0] for row in joint]
    assert expected_cost(joint * rng.uniform(0.1, 9, (7, 1)), minutes, 100.0) == pytest.approx(alone, abs=1e-12)


def test_workaround_never_ranks_above_a_fix() -> None:
    """Definition in model.knowledge.Remedy: what only hides a fault comes last, however quick and probable."""
    causes = [
        cause("bridge", {}, minutes=1.0, hides_fault=True, common="common"),
        cause("dear", {}, minutes=90.0, common="common"),
        cause("cheap", {}, minutes=10.0, common="common"),
        cause("something_else", {}),
    ]
    kb = knowledge(causes)
    assert repair_order(kb, prior(compile_network(kb)), frozenset()) == ["cheap", "dear", "bridge"]


def test_shared_cover_moves_a_remedy_up_once_it_is_open() -> None:
    """By hand: 15 + 20 minutes behind the closed cover against 25 outside; 15 against 25 once it is open."""
    causes = [cause("inside", {}, minutes=10.0, access="box"), cause("outside", {}, minutes=20.0)]
    kb = knowledge(causes, access={"box": 20.0})
    belief = prior(compile_network(kb))
    assert repair_order(kb, belief, frozenset()) == ["outside", "inside"]
    assert repair_order(kb, belief, frozenset({"box"})) == ["inside", "outside"]


def test_a_list_is_cut_where_the_specialist_is_cheaper() -> None:
    """Against the definition: no prefix followed by the specialist costs less, and `expected_cost` agrees."""
    rng = np.random.default_rng(11)
    kept = []
    for _ in range(200):
        minutes, specialist = rng.uniform(5, 120, 5), float(rng.uniform(20, 240))
        share = rng.dirichlet(np.ones(6))[:5]  # the rest is outside the list
        order = np.argsort(-share / minutes)
        actions = [Action(int(i), float(share[i]), float(minutes[i])) for i in order]
        costs = [list_cost([(a.probability, a.minutes) for a in actions[:k]], specialist) for k in range(6)]
        kept.append(len(worth_trying(actions, specialist)))
        assert costs[kept[-1]] == pytest.approx(min(costs))
    assert {0, 1, 5} <= set(kept)


def test_remedies_of_a_few_per_cent_are_left_to_the_specialist() -> None:
    """2 % of 240 specialist minutes is less than the 65 minutes of the remedy; 40 % is more."""
    causes = [
        cause("rare", {}, minutes=60.0, common="rare"),
        cause("usual", {}, minutes=60.0),
        cause("something_else", {}),
    ]
    kb = knowledge(causes, frequency={"common": 1.0, "rare": 0.04})
    belief = prior(compile_network(kb))
    assert belief.probability("usual") > 0.4 and 0.01 < belief.probability("rare") < 0.03
    assert repair_order(kb, belief, frozenset()) == ["usual"]
