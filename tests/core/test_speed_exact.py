"""What makes reasoning fast changes nothing: every short cut against the long way round.

The long way is written out here from the definitions: dense matrices, every cause put in order, rules run anew.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.core import near
from diagnose.core.compile import compile_network
from diagnose.core.course import evidence_weight
from diagnose.core.engine import Engine, _Part
from diagnose.core.network import FindingTable, dense_table
from diagnose.core.policy import BATCH, Costs, Gain, Option, choose, look_ahead
from diagnose.core.posterior import Belief, likelihood, prior, update
from diagnose.core.repair import FEW, expected_cost
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import KnowledgeBase
from tests.build import check, knowledge, rule
from tests.core.reference import compiled, random_case

SAME = 1e-12
SEEDS = st.integers(0, 2**32 - 1)


def in_order(joint: np.ndarray, minutes: np.ndarray, specialist: float) -> list[float]:
    """Expected cost per row with every cause put in order and every cut tried."""
    costs = []
    for row in joint:
        share = row / row.sum()
        order = sorted(range(len(row)), key=lambda i: -share[i] / minutes[i])
        left, spent, best = 1.0, 0.0, specialist
        for i in order:
            spent, left = spent + minutes[i] * left, left - share[i]
            best = min(best, spent + specialist * left)
        costs.append(best)
    return costs


@given(SEEDS, st.sampled_from([FEW - 1, FEW, FEW + 1, 3 * FEW, 400]), st.sampled_from([0.01, 0.05, 0.3, 3.0]))
@settings(max_examples=60, deadline=None)
def test_ordering_only_the_likely_causes_costs_nothing(seed: int, causes: int, evenness: float) -> None:
    """From one cause holding nearly everything, most impossible, to all alike; dear and cheap specialists."""
    rng = np.random.default_rng(seed)
    joint = rng.gamma(evenness, size=(5, causes)) * (rng.random(causes) < evenness + 0.2)
    joint[:, 0] += 0.1
    minutes, specialist = rng.uniform(1.0, 60.0, causes), float(10 ** rng.uniform(0.0, 4.0))
    with np.errstate(invalid="raise", divide="raise"):
        found = expected_cost(joint, minutes, specialist)
    assert found == pytest.approx(in_order(joint, minutes, specialist), abs=SAME * specialist)


def test_a_long_tail_is_put_in_order_where_it_matters() -> None:
    """A geometric tail that is worth repairing to its very end: the likely causes alone would get it wrong."""
    share = 0.9 ** np.arange(200.0)
    minutes = np.ones(200)
    alone = in_order(share[None, :FEW], minutes[:FEW], 1e6)
    whole = in_order(share[None, :], minutes, 1e6)
    assert alone != pytest.approx(whole, rel=1e-3)
    assert expected_cost(share[None, :], minutes, 1e6) == pytest.approx(whole, abs=SAME * 1e6)


def dense_likelihood(table: FindingTable, weight: np.ndarray) -> np.ndarray:
    """sum_k weight_k P(state k | set) for every set, as products of whole columns."""
    c, size = table.cumulative, table.cumulative.shape[1]
    below = np.zeros((size, size))
    found = np.zeros((size, size))
    for k, leak in enumerate(table.leak):
        up_to = leak * np.outer(c[k], c[k])
        found += weight[k] * (up_to - below)
        below = up_to
    return found


@given(SEEDS)
@settings(max_examples=60, deadline=None)
def test_the_sparse_update_equals_the_dense_one(seed: int) -> None:
    case = random_case(np.random.default_rng(seed), causes=9, findings=5)
    belief = prior(compile_network(compiled(case)))
    for name, weight in case.evidence.items():
        table = belief.network.tables[name]
        dense = dense_likelihood(table, np.array(weight))
        assert np.abs(likelihood(table, np.array(weight)) - dense).max() <= SAME
        expected = belief.weights * dense
        belief = update(belief, table, np.array(weight))
        assert np.abs(belief.weights - 2.0 * expected / expected.sum()).max() <= SAME
        assert np.abs(belief.weights - belief.weights.T).max() <= SAME


def dense_gain(belief: Belief, option: Option, costs: Costs, slip: float) -> tuple[float, float, list[float]]:
    """Minutes saved, bits and chances by going to every answer's whole posterior."""
    table = belief.network.tables[option.finding]
    before = belief.marginals[1:] / belief.marginals[1:].sum()
    spent, bits, chances = 0.0, 0.0, []
    for state in table.states:
        joint = belief.weights * dense_likelihood(table, evidence_weight(table, state, slip))
        chances.append(joint.sum() / 2.0)
        causes = joint.sum(axis=1)[1:]
        spent += chances[-1] * in_order(causes[None, :], costs.repair, costs.specialist)[0]
        after = causes / causes.sum()
        told = after > 0.0
        bits += chances[-1] * float(np.sum(after[told] * np.log2(after[told] / before[told])))
    return in_order(belief.marginals[None, 1:], costs.repair, costs.specialist)[0] - spent, max(bits, 0.0), chances


@given(SEEDS, st.sampled_from([0.0, 0.02, 0.2]))
@settings(max_examples=30, deadline=None)
def test_looking_ahead_equals_going_there(seed: int, slip: float) -> None:
    """More checks than one batch holds, more causes than are put in order."""
    rng = np.random.default_rng(seed)
    case = random_case(rng, causes=FEW + 8, findings=BATCH + 3)
    belief = prior(compile_network(compiled(case)))
    for name in list(case.evidence)[:3]:
        belief = update(belief, belief.network.tables[name], np.array(case.evidence[name]))
    costs = Costs(rng.uniform(1.0, 60.0, FEW + 8), 240.0)
    options = [Option(name, name, 1.0) for name in case.leak]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(near, "PARTNER", 0.0)
        gains = look_ahead(belief, options, costs, slip)
    assert [g.option for g in gains] == options
    for gain in gains:
        saves, bits, chances = dense_gain(belief, gain.option, costs, slip)
        assert gain.saves == pytest.approx(saves, abs=SAME * costs.specialist)
        assert gain.bits == pytest.approx(bits, abs=SAME)
        assert gain.chances == pytest.approx(chances, abs=SAME)


def rate_by_definition(gain: Gain, gains: list[Gain]) -> float:
    """Value per minute; the best check of a closed group may share what opening costs with those after it."""
    own = gain.value / gain.minutes
    if not gain.option.opening:
        return own
    group = sorted((g for g in gains if g.option.group == gain.option.group), key=lambda g: -g.value / g.option.own)
    if group[0] is not gain:
        return own
    shared = [
        sum(g.value for g in group[:n]) / (gain.option.opening + sum(g.option.own for g in group[:n]))
        for n in range(1, len(group) + 1)
    ]
    return max(own, *shared)


OPENING = {"": 0.0, "box": 5.0, "pit": 20.0}
NUMBERS = st.floats(0.0, 60.0)


@given(st.lists(st.tuples(NUMBERS, NUMBERS, st.floats(0.5, 20.0), st.sampled_from(sorted(OPENING))), max_size=12))
@settings(max_examples=100, deadline=None)
def test_the_choice_is_the_best_by_definition(drawn: list[tuple[float, float, float, str]]) -> None:
    gains = [
        Gain(Option(f"c{i}", "f", own, group, OPENING[group]), own + OPENING[group], saves, bits, 0.0, ())
        for i, (saves, bits, own, group) in enumerate(drawn)
    ]
    best = max((round(rate_by_definition(g, gains), 9) for g in gains), default=0.0)
    chosen = choose(gains)
    assert (chosen is None) == (best <= 1.0)
    if chosen:
        assert round(rate_by_definition(chosen, gains), 9) == best


def test_a_table_comes_back_from_its_dense_form() -> None:
    table = compile_network(compiled(random_case(np.random.default_rng(4), causes=6, findings=1))).tables["f0"]
    again = dense_table(table.id, table.states, table.leak, table.cumulative)
    assert np.array_equal(again.cumulative, table.cumulative) and again.columns == table.columns == 7


WORDS = ("x", "y", "z")
FACT = st.tuples(st.sampled_from("abcdefgh"), st.sampled_from(WORDS))


@st.composite
def rule_bases(draw: st.DrawFn) -> KnowledgeBase:
    """Rules over the facts a to h, chains and loops included."""
    when = st.dictionaries(
        st.sampled_from("abcdefgh"), st.lists(st.sampled_from(WORDS), min_size=1, unique=True), min_size=1, max_size=3
    )
    derive = st.dictionaries(st.sampled_from("efgh"), st.sampled_from(WORDS), min_size=1, max_size=2)
    drawn = draw(st.lists(st.tuples(when, derive), min_size=1, max_size=8))
    rules = [rule(f"r{i}", when_, derive=then) for i, (when_, then) in enumerate(drawn)]
    return knowledge(checks=[check(name, (), {}) for name in "abcd"], rules=rules)


@given(rule_bases(), st.lists(st.frozensets(FACT, max_size=5), min_size=2, max_size=6))
@settings(max_examples=60, deadline=None)
def test_an_engine_that_goes_on_says_the_same_as_a_new_one(
    kb: KnowledgeBase, steps: list[frozenset[tuple[str, str]]]
) -> None:
    """One engine told more, less and other facts in turn; each time the fixpoint of those facts alone."""
    engine, told = Engine(kb), frozenset[tuple[str, str]]()
    for number, step in enumerate(steps):
        told = step if number % 3 == 2 else told | step
        assert engine.run(told) == fixpoint(kb, told)


def test_an_interrupted_run_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while rules fire: the next run starts anew."""
    kb = knowledge(rules=[rule("one", {"a": ["x"]}, derive={"b": "x"}), rule("two", {"b": ["x"]}, derive={"c": "x"})])
    engine = Engine(kb)
    engine.run([("a", "y")])
    original = _Part._declare

    def interrupted(self: _Part, facts: object) -> None:
        if list(facts) == [("b", "x")]:  # type: ignore[call-overload]
            raise KeyboardInterrupt
        original(self, facts)  # type: ignore[arg-type]

    monkeypatch.setattr(_Part, "_declare", interrupted)
    with pytest.raises(KeyboardInterrupt):
        engine.run([("a", "y"), ("a", "x")])
    monkeypatch.undo()
    for facts in (frozenset({("a", "y")}), frozenset({("a", "y"), ("a", "x")})):
        assert engine.run(facts) == fixpoint(kb, facts)


class Interrupted(_Part):
    """Ctrl-C while a part is compiled, the first time."""

    times = 0

    def __init__(self, *given: object) -> None:
        Interrupted.times += 1
        if Interrupted.times == 1:
            raise KeyboardInterrupt
        super().__init__(*given)  # type: ignore[arg-type]


def test_an_interruption_while_rules_are_compiled_loses_none(monkeypatch: pytest.MonkeyPatch) -> None:
    kb = knowledge(rules=[rule("one", {"a": ["x"]}, derive={"b": "x"}), rule("two", {"b": ["x"]}, derive={"c": "x"})])
    engine = Engine(kb)
    monkeypatch.setattr("diagnose.core.engine._Part", Interrupted)
    with pytest.raises(KeyboardInterrupt):
        engine.run([("a", "x")])
    assert engine.run([("a", "x")]) == fixpoint(kb, {("a", "x")})


def test_an_engine_that_is_told_more_does_not_begin_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """What rules concluded is told to other parts, and to their own; with more facts it still holds."""
    kb = knowledge(rules=[rule("one", {"a": ["x"]}, derive={"b": "x"}), rule("two", {"b": ["x"]}, derive={"c": "x"})])
    engine, told, resets = Engine(kb), [("a", "x"), ("a", "y"), ("b", "z")], list[int]()
    engine.run(told[:1])
    (part,) = engine._parts
    original = part._engine.reset

    def counted() -> None:
        resets.append(1)
        original()

    monkeypatch.setattr(part._engine, "reset", counted)
    for n in (2, 3):
        assert engine.run(told[:n]) == fixpoint(kb, frozenset(told[:n]))
    assert not resets
    assert engine.run(told[2:]) == fixpoint(kb, frozenset(told[2:]))
    assert resets == [1]
