"""Published networks and worked numbers: W1, W2, W3, W8, W12, W14 and W18 of the design notes."""

from collections.abc import Iterable
from itertools import accumulate, product
from typing import Any

import numpy as np
import pytest

from diagnose.core.course import evidence_weight
from diagnose.core.explain import weights
from diagnose.core.network import Network
from diagnose.core.posterior import Belief, absorb, likelihood, prior, update
from diagnose.model.visit import Observation
from tests.build import network, single_fault, table
from tests.core.reference import Case, gum, maximum, sets_of

NO = ("no", "yes")


# W14, two-layer reference. Source: design notes W14 (self-made there; verified by enumeration, Quickscore and
# pyAgrum). It covers all eight sets of three causes; ours are the six with one or two.
W14 = Case(
    share={"a": 0.02 / 0.98, "b": 0.05 / 0.95, "c": 0.01 / 0.99},
    two_fault_odds=0.0,
    leak={"f1": (0.99, 0.01), "f2": (0.98, 0.02), "f3": (0.995, 0.005)},
    link={
        "f1": {"a": (0.1, 0.9), "b": (0.7, 0.3)},
        "f2": {"a": (0.6, 0.4), "b": (0.2, 0.8), "c": (0.5, 0.5)},
        "f3": {"c": (0.05, 0.95), "b": (0.9, 0.1)},
    },
    evidence={"f1": (0.0, 1.0), "f2": (0.0, 1.0), "f3": (1.0, 0.0)},
)


def w14_weights(names: Iterable[str]) -> dict[tuple[str, ...], float]:
    """P(set, evidence) of every set, none included, straight from the definition."""
    result = {}
    for present in ((), *sets_of(names, 3)):
        weight = np.prod([1 / (1 + o) * (o if c in present else 1) for c, o in W14.share.items()])
        for finding, seen in W14.evidence.items():
            shown = maximum(W14.leak[finding], *(W14.link[finding][c] for c in present if c in W14.link[finding]))
            weight *= float(np.dot(shown, seen))
        result[present] = float(weight)
    return result


def w14_beliefs() -> list[Belief]:
    tables = [table(f, NO, W14.leak[f], [W14.link[f].get(c, (1.0, 0.0)) for c in W14.share]) for f in W14.evidence]
    beliefs = [prior(network(W14.share, tables))]
    for t in tables:
        beliefs.append(update(beliefs[-1], t, np.array(W14.evidence[t.id])))
    return beliefs


def test_w14_published_numbers() -> None:
    weights = w14_weights(W14.share)
    total = sum(weights.values())
    assert total == pytest.approx(0.018596301286, abs=1e-12)  # the reference itself reproduces W14 in full
    assert sum(w for s, w in weights.items() if "a" in s) / total == pytest.approx(0.4130963959, abs=1e-10)
    kept = {s: w for s, w in weights.items() if len(s) in (1, 2)}
    belief = w14_beliefs()[-1]
    for name in W14.share:
        expected = sum(w for s, w in kept.items() if name in s) / sum(kept.values())
        assert belief.probability(name) == pytest.approx(expected, abs=1e-12)
    sets = dict(belief.sets(3))
    assert list(sets) == [("b",), ("a",), ("a", "b")]
    assert sets[("b",)] / sets[("a",)] == pytest.approx(0.576587 / 0.373600, rel=1e-5)
    assert sets[("a", "b")] / sets[("a",)] == pytest.approx(0.039152 / 0.373600, rel=2e-5)


def test_w14_explaining_away() -> None:
    """W14: a falls when f2 is seen, which a explains less well than b."""
    start, f1, f2, _ = (b.probability("a") for b in w14_beliefs())
    assert start < f1 and f2 < f1


def test_w2_noisy_or_without_leak() -> None:
    """Russell & Norvig's fever example (from memory in W2): inhibitors cold .6, flu .2, malaria .1.

    Three causes at once (.988 in W2) are outside the model.
    """
    fever = table("fever", NO, (1.0, 0.0), [(0.6, 0.4), (0.2, 0.8), (0.1, 0.9)])
    p = likelihood(fever, np.array([0.0, 1.0]))
    assert p[0, :] == pytest.approx([0.0, 0.4, 0.8, 0.9], abs=1e-12)
    assert (p[1, 2], p[1, 3], p[2, 3]) == pytest.approx((0.88, 0.94, 0.98), abs=1e-12)


def test_w3_leak_follows_the_net_convention() -> None:
    """W3: leak .1, strengths .5 and .8, Diez' net convention; the compound convention would give .888889."""
    p = likelihood(table("f", NO, (0.9, 0.1), [(0.5, 0.5), (0.2, 0.8)]), np.array([0.0, 1.0]))
    assert (p[0, 0], p[0, 2], p[0, 1], p[1, 2]) == pytest.approx((0.1, 0.82, 0.55, 0.91), abs=1e-12)


def test_w8_noisy_max() -> None:
    """W8 (forum page, verified there): (.5,.5,0) and (.1,.8,.1) together give (.05,.85,.10)."""
    graded = table("f", ("none", "some", "always"), (1, 0, 0), [(0.5, 0.5, 0.0), (0.1, 0.8, 0.1)])
    both = [likelihood(graded, row)[1, 2] for row in np.eye(3)]
    assert both == pytest.approx([0.05, 0.85, 0.10], abs=1e-12)


def test_w12_loaded_die() -> None:
    """Good's loaded die (from memory in W12): one die in ten shows six every third time. Ten sixes in 20 rolls."""
    rolls = [table(f"roll{i}", NO, (1, 0), [(2 / 3, 1 / 3), (5 / 6, 1 / 6)]) for i in range(20)]
    net = network({"loaded": 1.0, "fair": 9.0}, rolls)
    seen = [Observation(f"roll{i}", NO[i % 2]) for i in range(20)]
    beliefs = [single_fault(net)]
    for roll, o in zip(rolls, seen, strict=True):
        beliefs.append(update(beliefs[-1], roll, evidence_weight(roll, o.state, 0.0)))
    steps = [w.decibans for w in weights([b.chances for b in beliefs], seen, "loaded", "fair")]
    assert steps[:3] == pytest.approx([-9.5424, -0.9691, 3.0103], abs=1e-4)
    assert sum(steps) == pytest.approx(10.8696, abs=1e-4)
    assert beliefs[-1].probability("loaded") == pytest.approx(0.924339, abs=1e-6)


@pytest.mark.parametrize("seed", range(20))
def test_weights_of_evidence_add_up(seed: int) -> None:
    """Target T16: the steps sum to the final log-odds within 1e-9 dB (Good 1950); the first is the prior's."""
    rng = np.random.default_rng(seed)
    shown = rng.uniform(0.02, 0.98, (6, 4))
    tables = [table(f"f{j}", NO, (0.9, 0.1), [(1 - p, p) for p in row]) for j, row in enumerate(shown)]
    net = network({f"c{i}": float(o) for i, o in enumerate(rng.uniform(0.01, 0.1, 4))}, tables)
    seen = [Observation(t.id, NO[rng.integers(2)]) for t in tables]
    beliefs = list(accumulate(seen, lambda b, o: absorb(b, o, 0.02 if o.sure else 0.2), initial=prior(net)))
    steps = weights([b.chances for b in beliefs], seen, "c0", "c1")
    final = 10 * np.log10(beliefs[-1].probability("c0") / beliefs[-1].probability("c1"))
    assert sum(s.decibans for s in steps) == pytest.approx(final, abs=1e-9)
    assert [s.finding for s in steps] == ["", *(t.id for t in tables)]


ASIA = {"tub": (0.01, 0.05), "lung": (0.01, 0.10), "bronc": (0.30, 0.60)}
ROOT = {"tub": "asia", "lung": "smoke", "bronc": "smoke"}


def asia() -> Any:
    """Lauritzen & Spiegelhalter (1988), its 18 numbers as in W1, in float64."""
    net = gum.fastBN("asia->tub->either->xray;lung->either->dysp;smoke->lung;smoke->bronc->dysp", 2)
    net.cpt("asia")[:], net.cpt("smoke")[:] = [0.99, 0.01], [0.5, 0.5]
    for disease, rates in ASIA.items():
        net.cpt(disease)[:] = [[1 - p, p] for p in rates]
    for tub, lung in product((0, 1), repeat=2):
        either = max(tub, lung)
        net.cpt("either")[{"tub": tub, "lung": lung}] = [1 - either, either]
    net.cpt("xray")[:] = [[0.95, 0.05], [0.02, 0.98]]
    for (bronc, either), p in {(1, 1): 0.9, (1, 0): 0.8, (0, 1): 0.7, (0, 0): 0.1}.items():
        net.cpt("dysp")[{"bronc": bronc, "either": either}] = [1 - p, p]
    return net


def test_w1_reference_is_the_published_network() -> None:
    """W1's rows for 'dysp' and for 'asia, dysp, no xray'; guards the reference used in the next test."""
    for evidence, published in (
        ({"dysp": 1}, (0.0188453, 0.1027592, 0.8339673)),
        ({"asia": 1, "dysp": 1, "xray": 0}, (0.0022487, 0.0025504, 0.8627608)),
    ):
        engine = gum.LazyPropagation(asia())
        engine.setEvidence(evidence)
        engine.makeInference()
        assert [engine.posterior(d)[1] for d in ASIA] == pytest.approx(published, abs=1e-7)


@pytest.mark.parametrize("abroad", [0, 1])
@pytest.mark.parametrize("smoker", [0, 1])
@pytest.mark.parametrize("seen", [{"xray": 1}, {"dysp": 1}, {"xray": 1, "dysp": 1}, {"xray": 0, "dysp": 1}])
def test_w1_asia_one_disease_at_a_time(abroad: int, smoker: int, seen: dict[str, int]) -> None:
    """Compared: the odds between 'only tub', 'only lung' and 'only bronc', with both roots known.

    Asia as a whole has three layers and an OR that is no noisy-OR of ours once two diseases meet; with one
    disease at a time its lower half is exactly a leaky two-layer network.
    """
    engine = gum.LazyPropagation(asia())
    engine.addJointTarget(set(ASIA))
    engine.setEvidence({"asia": abroad, "smoke": smoker, **seen})
    engine.makeInference()
    joint = engine.jointPosterior(set(ASIA))
    expected = np.array([joint[{d: int(d == only) for d in ASIA}] for only in ASIA])
    belief = prior(asia_two_layer(abroad, smoker))
    for name, state in seen.items():
        belief = update(belief, belief.network.tables[name], np.eye(2)[state])
    alone = belief.weights[0, 1:]
    assert alone / alone.sum() == pytest.approx(expected / expected.sum(), abs=1e-12)


def asia_two_layer(abroad: int, smoker: int) -> Network:
    known = {"asia": abroad, "smoke": smoker}
    rates = {d: ASIA[d][known[ROOT[d]]] for d in ASIA}
    xray = (0.02 / 0.95, 1 - 0.02 / 0.95)
    short = [(0.3 / 0.9, 0.6 / 0.9), (0.3 / 0.9, 0.6 / 0.9), (0.2 / 0.9, 0.7 / 0.9)]
    tables = [table("xray", NO, (0.95, 0.05), [xray, xray, (1, 0)]), table("dysp", NO, (0.9, 0.1), short)]
    return network({d: p / (1 - p) for d, p in rates.items()}, tables)


SMOKER_IF_CANCER = 0.3 * (0.9 * 0.03 + 0.1 * 0.05) / 0.01163
SMOKER_IF_NOT = 0.3 * (0.9 * 0.97 + 0.1 * 0.95) / (1 - 0.01163)


def healthy_or_cancer() -> Belief:
    """Cancer against its absence as a second 'cause' without signs; the lower half of the cancer network."""
    shown = {"xray": (0.2, 0.9), "dyspnoea": (0.3, 0.65), "smoker": (SMOKER_IF_NOT, SMOKER_IF_CANCER)}
    tables = [
        table(n, NO, (1 - leak, leak), [((1 - p) / (1 - leak), 1 - (1 - p) / (1 - leak)), (1.0, 0.0)])
        for n, (leak, p) in shown.items()
    ]
    return single_fault(network({"cancer": 0.01163, "healthy": 1 - 0.01163}, tables))


def test_w18_cancer_network() -> None:
    """Published network 'cancer' (Korb & Nicholson; inputs from memory, outputs W18 by pyAgrum and pgmpy).

    Compared: P(cancer) and its course as X-ray, dyspnoea and smoking become known. Single-fault cells only, since
    'healthy' excludes cancer. Smoking is turned round by Bayes' rule to be a finding.
    """
    belief, course = healthy_or_cancer(), []
    for name in ("xray", "dyspnoea", "smoker"):
        belief = update(belief, belief.network.tables[name], np.array([0.0, 1.0]))
        course.append(belief.probability("cancer"))
    assert course == pytest.approx([0.050288, 0.102919, 0.24375], abs=1e-6)
