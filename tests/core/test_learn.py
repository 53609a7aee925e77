"""Confirmed outcomes -> frequencies: published values, and what 500 simulated visits teach."""

import dataclasses
from collections.abc import Mapping, Sequence
from functools import partial
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.core.compile import compile_network
from diagnose.core.learn import FLOOR, Learned, changes, frequency, learn
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.errors import CalculationError
from diagnose.model.history import Confirmed
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Setup
from tests import shipped
from tests.build import cause, check, knowledge

NEVER = 1e-9  # a floor that never matters, to see the bare Dirichlet


def shares(kb: KnowledgeBase, learned: Learned, devices: tuple[str, ...] = ()) -> Mapping[str, float]:
    return {c.cause: c.after for c in changes(kb, learned, devices)}


def visits(counts: Mapping[str, int], devices: tuple[str, ...] = ()) -> list[Confirmed]:
    causes = [c for c, n in counts.items() for _ in range(n)]
    return [Confirmed(f"visit {i}", devices, (c,)) for i, c in enumerate(causes)]


def plain(weights: Mapping[str, float]) -> KnowledgeBase:
    """Causes of every sensor kind, with these weights."""
    return knowledge([cause(c, {}, common=c) for c in weights], frequency=weights)


# --- W16 -------------------------------------------------------------------------------------------------------


def test_placenta_praevia() -> None:
    """437 girls of 980 births, uniform prior: Beta(438, 544), mean .446029.

    Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4. A uniform prior is a strength of two visits.
    """
    kb = plain({"girl": 1.0, "boy": 1.0})
    found = shares(kb, learn(kb, visits({"girl": 437, "boy": 543}), strength=2.0, floor=NEVER))
    assert found["girl"] == pytest.approx(0.446029, abs=5e-7)
    assert found["girl"] == pytest.approx(stats.beta(438, 544).mean(), abs=1e-12)


def test_dirichlet_2_1_1_and_counts_5_0_3() -> None:
    """Dirichlet(2,1,1) + (5,0,3) -> 7/12, 1/12, 4/12: conjugate updating, by hand; strength = 2+1+1 visits."""
    kb = plain({"a": 2.0, "b": 1.0, "c": 1.0})
    found = shares(kb, learn(kb, visits({"a": 5, "c": 3}), strength=4.0, floor=NEVER))
    assert [found[c] for c in "abc"] == pytest.approx([7 / 12, 1 / 12, 4 / 12], abs=1e-12)
    assert [found[c] for c in "abc"] == pytest.approx(stats.dirichlet([7, 1, 4]).mean(), abs=1e-12)


# --- T15 -------------------------------------------------------------------------------------------------------

TRUTH = {"worn": 0.45, "b": 0.15, "c": 0.12, "d": 0.10, "e": 0.08, "f": 0.06, "g": 0.04}
SHOWS = {"worn": 0.8, "b": 0.7, "c": 0.3, "d": 0.6, "e": 0.2, "f": 0.5, "g": 0.9}


def believed(factor: float) -> KnowledgeBase:
    """What an expert says who has `worn` wrong by the factor, and shares the rest out rightly."""
    wrong = TRUTH["worn"] * factor
    rest = (1.0 - wrong) / (1.0 - TRUTH["worn"])
    weights = {c: wrong if c == "worn" else p * rest for c, p in TRUTH.items()}
    causes = [cause(c, {"look": {"bad": SHOWS[c]}}, common=c) for c in TRUTH]
    return knowledge(causes, [check("look", ("good", "bad"), {"bad": 0.02})], frequency=weights)


def drawn(rng: np.random.Generator, number: int) -> list[str]:
    return [str(c) for c in rng.choice(list(TRUTH), size=number, p=list(TRUTH.values()))]


def brier(reasoner: Reasoner, cases: Sequence[tuple[str, str]]) -> float:
    """Mean squared error of P(cause) over all causes after the one finding; Brier 1950, the many-class form."""
    beliefs = {s: reasoner.conclude(Setup(), "", [Answer("look", s)]).belief for s in ("good", "bad")}
    told = {s: dict(b.ranked()) for s, b in beliefs.items()}
    return float(np.mean([sum((told[s][c] - (c == true)) ** 2 for c in TRUTH) for true, s in cases]))


def reasoner(kb: KnowledgeBase, weights: Mapping[str, float] | None = None) -> Reasoner:
    return Reasoner(kb, derive=partial(fixpoint, kb), weights=weights)


@pytest.mark.parametrize("seed", range(10))
def test_500_outcomes_put_a_prior_wrong_by_three_right(seed: int) -> None:
    """Within 20 % of the truth, a better Brier score on visits not learned from, no share 0 or 1."""
    rng, kb = np.random.default_rng(seed), believed(1 / 3)
    learned = learn(kb, [Confirmed(str(i), (), (c,)) for i, c in enumerate(drawn(rng, 500))])
    found = shares(kb, learned)
    assert found["worn"] == pytest.approx(TRUTH["worn"], rel=0.2)
    assert 0.0 < min(found.values()) < max(found.values()) < 1.0
    fresh = [(c, "bad" if rng.random() < SHOWS[c] else "good") for c in drawn(rng, 2000)]
    assert brier(reasoner(kb, learned.weights), fresh) < brier(reasoner(kb), fresh)


def test_a_cause_put_three_times_too_high_comes_down_as_theory_says() -> None:
    """With a strength of 50 the expert's x3 still shows after 500 visits: (50 * 3 + 500) / 550 = 1.18 times."""
    rare = {c: (0.15 if c == "worn" else p * 0.85 / 0.55) for c, p in TRUTH.items()}
    kb = plain({c: (0.45 if c == "worn" else p * 0.55 / 0.85) for c, p in rare.items()})
    rng, means = np.random.default_rng(5), []
    for _ in range(200):
        counts = dict(zip(rare, map(int, rng.multinomial(500, list(rare.values()))), strict=True))
        means.append(shares(kb, learn(kb, visits(counts)))["worn"])
    assert np.mean(means) == pytest.approx(0.15 * 650 / 550, abs=3 * np.std(means) / np.sqrt(200))
    assert np.mean(means) == pytest.approx(0.15, rel=0.2)


# --- the rest --------------------------------------------------------------------------------------------------


def test_nothing_confirmed_changes_nothing() -> None:
    kb = shipped.knowledge()
    learned = learn(kb, [])
    assert learned.weights == {c: frequency(kb, c) for c in kb.causes}
    assert (compile_network(kb).odds == compile_network(kb, weights=learned.weights).odds).all()


def test_weights_reach_the_first_belief_of_a_visit() -> None:
    kb = plain({"a": 2.0, "b": 1.0, "c": 1.0})
    learned = learn(kb, visits({"c": 400}))
    before, after = (reasoner(kb, w).conclude(Setup(), "", ()).belief for w in (None, learned.weights))
    assert before.ranked()[0][0] == "a"
    assert after.ranked()[0][0] == "c"


def families() -> KnowledgeBase:
    kinds = {"shared": (), "own": ("laser",), "both": ("laser", "loop"), "other": ("loop",), "third": ("radar",)}
    return knowledge([cause(c, {}, devices=d) for c, d in kinds.items()])


def test_one_family_learns_by_its_own_dirichlet_and_leaves_the_others_causes_alone() -> None:
    kb = families()
    learned = learn(kb, visits({"own": 30, "shared": 10}, ("laser",)), floor=NEVER)
    own = shares(kb, learned, ("laser",))
    expected = [(50 / 3 + n) / 90 for n in (30, 10, 0)]
    assert [own[c] for c in ("own", "shared", "both")] == pytest.approx(expected, abs=1e-12)
    assert learned.weights["other"] == learned.weights["third"] == 1.0


def test_a_cause_of_several_families_is_pooled_over_their_visits() -> None:
    """By hand: 30 laser visits with 3 causes each, 60 radar visits with 2: expected 10 + 30, found 20 + 60."""
    kb = families()
    laser = visits({"shared": 20, "own": 10}, ("laser",))
    radar = [Confirmed(f"r{i}", ("radar",), ("shared" if i < 60 else "third",)) for i in range(60)]
    learned = learn(kb, [*laser, *radar])
    assert learned.expected["shared"] == pytest.approx(40.0, abs=1e-12)
    assert learned.weights["shared"] == pytest.approx((50 + 90 * 80 / 40) / (50 + 90), abs=1e-12)


def test_causes_confirmed_together_share_one_vote() -> None:
    kb = plain({"a": 1.0, "b": 1.0, "c": 1.0})
    learned = learn(kb, [Confirmed("1", (), ("a", "b")), Confirmed("2", (), ("a",))])
    assert learned.counts == {"a": 1.5, "b": 0.5, "c": 0.0}
    assert sum(learned.expected.values()) == pytest.approx(learned.outcomes, abs=1e-12)


def test_a_cause_that_never_turns_up_stays_at_the_floor() -> None:
    kb = plain({"a": 1.0, "b": 1.0})
    learned = learn(kb, visits({"a": 100_000}))
    assert learned.weights["b"] == pytest.approx(FLOOR, abs=1e-12)
    assert 0.0 < shares(kb, learned)["b"] < shares(kb, learned)["a"] < 1.0


def test_outcomes_that_do_not_fit_the_knowledge_are_left_out_and_named() -> None:
    kb = families()
    odd = [Confirmed("gone", (), ("forgotten",)), Confirmed("misfit", ("loop",), ("own",)), Confirmed("none", (), ())]
    learned = learn(kb, [*odd, Confirmed("good", ("loop",), ("other",))])
    assert (learned.left_out, learned.outcomes) == (("gone", "misfit", "none"), 1)
    alone = learn(kb, [Confirmed("good", ("loop",), ("other",))])
    assert dataclasses.replace(learned, left_out=()) == alone


CASES = st.lists(
    st.tuples(
        st.sampled_from([(), ("laser",), ("loop", "laser"), ("laser", "loop")]),
        st.lists(st.sampled_from(["shared", "both", "own"]), min_size=1, max_size=3),
    ),
    max_size=30,
)


@given(CASES, st.randoms())
def test_the_same_history_in_any_order_gives_the_same_numbers(
    cases: list[tuple[tuple[str, ...], list[str]]], random: Random
) -> None:
    kb = families()
    history = [Confirmed(f"v{i}", devices, tuple(causes)) for i, (devices, causes) in enumerate(cases)]
    mixed = random.sample(history, len(history))
    assert learn(kb, history) == learn(kb, [*mixed, *mixed[:3]])


def test_the_digest_tells_histories_apart() -> None:
    kb = families()
    digests = {learn(kb, visits({"own": n, "shared": 2})).digest for n in range(4)}
    assert len(digests) == 4


@pytest.mark.parametrize(("strength", "floor"), [(0.0, 0.1), (-1.0, 0.1), (50.0, 0.0), (50.0, 1.0)])
def test_a_strength_or_floor_without_meaning_is_refused(strength: float, floor: float) -> None:
    with pytest.raises(CalculationError):
        learn(families(), [], strength, floor)


def test_the_shipped_knowledge_learns_without_leaving_the_open_interval() -> None:
    kb = shipped.knowledge()
    some = [c.id for c in kb.causes.values() if not c.devices][:5]
    learned = learn(kb, visits(dict.fromkeys(some, 300), ("laser",)))
    odds = compile_network(kb, ("laser",), weights=learned.weights).odds
    assert np.isfinite(odds).all()
    assert (odds > 0).all()
