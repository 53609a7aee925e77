"""References for the posterior that share no formula with the product: pyAgrum networks, and plain enumeration.

A finding is built the long way: one hidden effect per cause and per leak, and the finding is their maximum.
The product multiplies cumulative probabilities instead.
"""

import importlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod
from typing import Any

import numpy as np

from diagnose.core.compile import compile_network
from diagnose.core.posterior import Belief, prior, update
from diagnose.model.knowledge import KnowledgeBase
from tests.build import cause, check, knowledge

Distribution = tuple[float, ...]
gum: Any = importlib.import_module("pyagrum")  # its stubs are incomplete


@dataclass(frozen=True)
class Case:
    """A random two-layer problem as plain numbers, with its evidence.

    odds: cause -> prior odds; leak: finding -> distribution; link[finding][cause]: distribution of the cause alone;
    evidence: finding -> relative likelihood of each state (a single 1 among zeros is hard evidence).
    """

    share: Mapping[str, float]
    two_fault_odds: float
    leak: Mapping[str, Distribution]
    link: Mapping[str, Mapping[str, Distribution]]
    evidence: Mapping[str, Distribution]

    @property
    def odds(self) -> dict[str, float]:
        """Odds, proportional to share, for which P(two faults) / P(one fault) is `two_fault_odds`.

        Solved by bisection, because the product has it in closed form.
        """
        low, high = 0.0, 100.0
        for _ in range(200):
            scale = (low + high) / 2
            pairs = sum(a * b for a, b in combinations((scale * s for s in self.share.values()), 2))
            low, high = (
                (scale, high) if pairs < self.two_fault_odds * scale * sum(self.share.values()) else (low, scale)
            )
        return {c: scale * s for c, s in self.share.items()}


def random_case(rng: np.random.Generator, causes: int, findings: int, two_fault_odds: float = 0.1) -> Case:
    """Causes and findings at random, two to four states, at most three causes per finding, hard or virtual."""
    names = [f"c{i}" for i in range(causes)]
    leak, link, evidence = {}, {}, {}
    for j in range(findings):
        size, name = int(rng.integers(2, 5)), f"f{j}"
        parents = rng.choice(names, size=min(causes, int(rng.integers(1, 4))), replace=False)
        leak[name] = _distribution(rng, size, 8.0)
        link[name] = {str(c): _distribution(rng, size, 0.7) for c in parents}
        evidence[name] = _evidence(rng, size)
    share = {c: float(10 ** rng.uniform(-1, 1)) for c in names}
    return Case(share, two_fault_odds, leak, link, evidence)


def _distribution(rng: np.random.Generator, size: int, first: float) -> Distribution:
    weights = rng.gamma(1.0, size=size) + 0.01
    weights[0] += first * weights.sum()
    return tuple(weights / weights.sum())


def _evidence(rng: np.random.Generator, size: int) -> Distribution:
    if rng.random() < 0.5:
        return tuple(np.eye(size)[rng.integers(size)])
    return tuple(rng.uniform(0.02, 1.0, size))


def compiled(case: Case) -> KnowledgeBase:
    """The case as a knowledge base, so that the product's own compiler is under test too."""
    states = {f: [f"s{k}" for k in range(len(d))] for f, d in case.leak.items()}
    checks = [check(f, s, _later(s, case.leak[f])) for f, s in states.items()]
    causes = [
        cause(c, {f: _later(states[f], links[c]) for f, links in case.link.items() if c in links}, common=c)
        for c in case.share
    ]
    return knowledge(causes, checks, frequency=case.share, two_fault_odds=case.two_fault_odds)


def _later(states: Sequence[str], distribution: Distribution) -> dict[str, float]:
    return dict(zip(states[1:], distribution[1:], strict=True))


def belief_of(case: Case, order: Iterable[str] | None = None) -> Belief:
    """The product's posterior, the evidence entered in this order."""
    belief = prior(compile_network(compiled(case)))
    for finding in order or case.evidence:
        belief = update(belief, belief.network.tables[finding], np.array(case.evidence[finding]))
    return belief


def as_pyagrum(case: Case) -> Any:
    """The case as a pyAgrum network in float64, with a node that counts the faults."""
    net = gum.BayesNet()
    for name, odds in case.odds.items():
        net.add(gum.LabelizedVariable(name, "", 2))
        net.cpt(name)[:] = [1 / (1 + odds), odds / (1 + odds)]
    net.addCOUNT(gum.LabelizedVariable("faults", "", len(case.share) + 1), 1)
    for name in case.share:
        net.addArc(name, "faults")
    for finding, leak in case.leak.items():
        size = len(leak)
        net.addMAX(gum.LabelizedVariable(finding, "", size))
        _effect(net, f"{finding}_leak", finding, size)
        net.cpt(f"{finding}_leak")[:] = leak
        for name, shown in case.link[finding].items():
            _effect(net, f"{finding}_{name}", finding, size, name)
            net.cpt(f"{finding}_{name}")[:] = [[1.0] + [0.0] * (size - 1), shown]
    return net


def _effect(net: Any, effect: str, finding: str, size: int, above: str = "") -> None:
    net.add(gum.LabelizedVariable(effect, "", size))
    net.addArc(effect, finding)
    if above:
        net.addArc(above, effect)


def by_pyagrum(case: Case, faults: Iterable[int]) -> tuple[dict[str, float], dict[tuple[str, str], float], float]:
    """P(cause | evidence), P(both | evidence) and P(evidence), all given that the number of faults is in `faults`."""
    net, allowed = as_pyagrum(case), [float(k in faults) for k in range(len(case.share) + 1)]
    prior_mass, _ = _infer(net, {"faults": allowed}, [])
    pairs = list(combinations(case.share, 2))
    mass, engine = _infer(net, {"faults": allowed, **case.evidence}, pairs)
    alone = {c: float(engine.posterior(c)[1]) for c in case.share}
    both = {p: float(engine.jointPosterior(set(p))[{p[0]: 1, p[1]: 1}]) for p in pairs}
    return alone, both, mass / prior_mass


def _infer(net: Any, evidence: Mapping[str, Sequence[float]], pairs: Iterable[tuple[str, str]]) -> tuple[float, Any]:
    engine = gum.LazyPropagation(net)
    for pair in pairs:
        engine.addJointTarget(set(pair))
    for node, weights in evidence.items():
        engine.addEvidence(node, list(weights))
    engine.makeInference()
    return float(engine.evidenceProbability()), engine


def by_enumeration(case: Case, most: int = 2) -> tuple[dict[str, float], float]:
    """P(cause | evidence) and P(evidence) over all sets of 1 to `most` causes, in plain Python."""
    odds, weight = case.odds, dict[tuple[str, ...], float]()
    total = 0.0
    for present in sets_of(case.share, most):
        before = prod(odds[c] for c in present)
        total += before
        weight[present] = before * prod(_likelihood(case, f, present) for f in case.evidence)
    mass = sum(weight.values())
    return {c: sum(w for s, w in weight.items() if c in s) / mass for c in odds}, mass / total


def sets_of(names: Iterable[str], most: int) -> Iterator[tuple[str, ...]]:
    pool = tuple(names)
    return (s for size in range(1, most + 1) for s in combinations(pool, size))


def _likelihood(case: Case, finding: str, present: tuple[str, ...]) -> float:
    shown = maximum(case.leak[finding], *(case.link[finding][c] for c in present if c in case.link[finding]))
    return sum(p * e for p, e in zip(shown, case.evidence[finding], strict=True))


def maximum(*distributions: Distribution) -> Distribution:
    """Distribution of the largest of independent draws, by going through every outcome of every pair."""
    first, *rest = distributions
    for other in rest:
        joined = [0.0] * len(first)
        for i, p in enumerate(first):
            for j, q in enumerate(other):
                joined[max(i, j)] += p * q
        first = tuple(joined)
    return first
