"""Observations -> exact posterior over every set of one or two simultaneous causes.

A set {i, j} is a cell of a symmetric (n+1, n+1) matrix; cell (0, i) is cause i alone. A finding multiplies all
cells that none of its causes touches by one number, so only the rows and columns of its few causes cost any
thought. Each factor is at least 1e-6 or so and the matrix is rescaled after every finding, so nothing that
matters can underflow.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from diagnose.core.network import FindingTable, Floats, Network
from diagnose.errors import DiagnoseError
from diagnose.model.visit import Observation


class ImpossibleEvidence(DiagnoseError):
    """No set of one or two causes gives the evidence any probability."""


@dataclass(frozen=True)
class Belief:
    """`weights` (n+1, n+1) symmetric, its upper triangle sums to 1. `log_evidence` is ln P(evidence | a fault),
    of tempered evidence where the network tempers."""

    network: Network
    weights: Floats
    log_evidence: float

    @cached_property
    def columns(self) -> Floats:
        """P(a cause is present and shows itself in this way), shape (n+1,); entry 0 is P(exactly one cause)."""
        return np.asarray(self.weights.sum(axis=1))

    @cached_property
    def marginals(self) -> Floats:
        """P(cause present), shape (causes+1,); entry 0 is P(exactly one cause)."""
        return self.network.by_cause(self.columns)

    @property
    def by_cause(self) -> Floats:
        """(causes+1, causes+1): `weights` with the columns of each cause summed."""
        return self.network.by_cause(self.network.by_cause(self.weights).T).T

    def probability(self, cause: str) -> float:
        return float(self.marginals[self.network.index(cause)])

    def ranked(self) -> list[tuple[str, float]]:
        """Causes with their probability of being present, most probable first; ties by id."""
        marginals = self.marginals[1:]
        return sorted(zip(self.network.causes, map(float, marginals), strict=True), key=lambda x: (-x[1], x[0]))

    def sets(self, most: int = 5) -> list[tuple[tuple[str, ...], float]]:
        """The most probable sets of causes, with their probabilities."""
        upper = np.triu(self.by_cause)
        top = np.argpartition(upper, -most, axis=None)[-most:] if most < upper.size else np.arange(upper.size)
        best = top[np.argsort(upper.flat[top])[::-1]]
        cells = [divmod(int(flat), upper.shape[1]) for flat in best]
        return [(tuple(self.network.causes[k - 1] for k in cell if k), float(upper[cell])) for cell in cells]


def chance_of(belief: Belief, causes: Iterable[str]) -> float:
    """P(at least one of these causes is present); causes that do not concern this gate are passed over."""
    there = np.zeros(len(belief.weights), dtype=bool)
    for cause in causes:
        if cause in belief.network.causes:
            there[belief.network.columns(cause)] = True
    without = belief.weights[np.ix_(~there, ~there)].sum() / 2.0
    return max(0.0, 1.0 - float(without))


def likelihood(table: FindingTable, weight: Floats) -> Floats:
    """sum_k weight_k * P(state k | set) for every set, shape (n+1, n+1). `weight` has shape (K,)."""
    return influence(np.ones((table.columns, table.columns)), table, weight, 1.0)


def influence(weights: Floats, table: FindingTable, weight: Floats, temper: float) -> Floats:
    """`weights` times the likelihood to the power `temper`, cell by cell: of no touched cause, of one, of two."""
    step, c, t = (weight[:-1] - weight[1:]) * table.leak[:-1], table.shown[:-1], table.touched
    one = (step @ c + weight[-1]) ** temper
    two = (c * step[:, None]).T @ c + weight[-1] + _beyond(table, step)
    product = weights * (step.sum() + weight[-1]) ** temper
    product[t] = weights[t] * one[:, None]
    product[:, t] = product[t].T
    product[np.ix_(t, t)] = weights[np.ix_(t, t)] * two**temper
    return np.asarray(product)


def _beyond(table: FindingTable, step: Floats) -> Floats | float:
    """(t, t): what pairs that share an effect, or of which one hides the other, differ by from independent pairs."""
    if table.excess is None:
        return 0.0
    g, own = table.groups, table.own[:-1]
    each = (s * np.outer(o, o) * e[np.ix_(g, g)] for s, o, e in zip(step, own, table.excess, strict=True))
    return np.asarray(sum(each))


def evidence_weight(table: FindingTable, state: str, slip: float) -> Floats:
    """Virtual evidence for an answer that is wrong with probability `slip`, shared among the other states."""
    weight = np.full(len(table.states), slip / (len(table.states) - 1))
    weight[table.states.index(state)] = 1.0 - slip
    return weight


def prior(network: Network, complaint: str = "", excluded: Iterable[str] = ()) -> Belief:
    """Belief before any check, excluded causes at nought.

    Two causes at once are reported as either of them, half and half.
    """
    odds = network.odds.copy()
    for cause in excluded:
        if cause in network.causes:
            odds[network.columns(cause)] = 0.0
    weights = np.outer(odds, odds) * (1.0 if network.together is None else network.together)
    weights[0, 0] = 0.0
    for cause in network.causes:  # a cause is there once, and in one way
        weights[network.columns(cause), network.columns(cause)] = 0.0
    start = replace(_scaled(network, weights, 0.0), log_evidence=0.0)  # given that something is wrong
    if not complaint:
        return start
    alone = network.presenting[complaint]
    mixed = 0.5 * (alone[:, None] + alone[None, :])
    mixed[0, :] = mixed[:, 0] = alone
    return _scaled(network, start.weights * mixed, 0.0)


def update(belief: Belief, table: FindingTable, weight: Floats) -> Belief:
    """Belief after one finding, given as virtual evidence of shape (K,), tempered as the network says."""
    weights = influence(belief.weights, table, weight, belief.network.temper)
    return _scaled(belief.network, weights, belief.log_evidence)


def untempered(belief: Belief) -> Belief:
    """The same belief, going on with likelihoods at face value."""
    return replace(belief, network=replace(belief.network, temper=1.0))


def _scaled(network: Network, weights: Floats, log_evidence: float) -> Belief:
    """Belief with these weights, which are taken over and scaled in place."""
    total = float(weights.sum()) / 2.0
    if not total > 0.0:
        raise ImpossibleEvidence("no combination of known causes explains these answers; re-check the last ones")
    weights /= total
    return Belief(network, weights, log_evidence + float(np.log(total)))


def still_failing(belief: Belief, cause: str, botched: float) -> Belief:
    """Belief over what is still wrong after `cause` was repaired and the trouble is still there.

    A set without the cause is untouched; {cause, other} becomes {other}; {cause} alone is ruled out, but for
    the chance `botched` that the repair itself went wrong. Evidence so far has done its work already.
    """
    own = belief.network.columns(cause)
    moved = belief.weights.copy()
    rest = moved[own].sum(axis=0)
    rest[0] = 0.0
    moved[own, :] = moved[:, own] = 0.0
    moved[0, :] += rest
    moved[:, 0] += rest
    return _scaled(belief.network, botched * belief.weights + (1.0 - botched) * moved, belief.log_evidence)


def absorb(belief: Belief, seen: Observation, slip: float) -> Belief:
    """Belief after one observation that is wrong with probability `slip`."""
    table = belief.network.tables[seen.finding]
    return update(belief, table, evidence_weight(table, seen.state, slip))
