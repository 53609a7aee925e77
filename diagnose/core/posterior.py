"""Observations -> exact posterior over every set of one or two simultaneous causes.

A set {i, j} is a cell of a symmetric (n+1, n+1) matrix; cell (0, i) is cause i alone. A finding multiplies all
cells of two of its groups by one number, so only the few pairs of groups cost any thought. Each factor is at least
1e-6 or so and the matrix is rescaled after every finding, so nothing that matters can underflow.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np

from diagnose.core.course import Course, Heard, Removed, more_told, next_answer, told
from diagnose.core.network import FindingTable, Floats, Indices, Network
from diagnose.errors import DiagnoseError
from diagnose.model.visit import Observation


class ImpossibleEvidence(DiagnoseError):
    """No set of one or two causes gives the evidence any probability."""


@dataclass(frozen=True)
class Chances:
    """`marginals` (causes+1,): P(cause present); entry 0 is P(exactly one cause)."""

    network: Network
    marginals: Floats

    def probability(self, cause: str) -> float:
        return float(self.marginals[self.network.index(cause)])

    def ranked(self) -> list[tuple[str, float]]:
        """Causes with their probability of being present, most probable first; ties by id.

        To 12 places: the last ones hang on the processor's order of adding, and a tie must not.
        """
        marginals = (round(float(p), 12) for p in self.marginals[1:])
        return sorted(zip(self.network.causes, marginals, strict=True), key=lambda x: (-x[1], x[0]))


@dataclass(frozen=True)
class Belief:
    """`weights` (n+1, n+1) symmetric, its upper triangle sums to 1: what is there now. `log_evidence` is
    ln P(evidence | a fault), of tempered evidence where the network tempers. `course`: since a repair."""

    network: Network
    weights: Floats
    log_evidence: float
    course: Course | None = None

    @cached_property
    def columns(self) -> Floats:
        """P(a cause is present and shows itself in this way), shape (n+1,); entry 0 is P(exactly one cause)."""
        return np.asarray(self.weights.sum(axis=1))

    @cached_property
    def chances(self) -> Chances:
        """What is left of a belief that takes no memory."""
        return Chances(self.network, self.network.by_cause(self.columns))

    @property
    def marginals(self) -> Floats:
        """P(cause present), shape (causes+1,); entry 0 is P(exactly one cause)."""
        return self.chances.marginals

    @property
    def by_cause(self) -> Floats:
        """(causes+1, causes+1): `weights` with the columns of each cause summed."""
        return self.network.by_cause(self.network.by_cause(self.weights).T).T

    def probability(self, cause: str) -> float:
        return self.chances.probability(cause)

    def ranked(self) -> list[tuple[str, float]]:
        """Causes with their probability of being present, most probable first; ties by id."""
        return self.chances.ranked()

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
    return _spread(table, by_groups(table, weight))


def by_groups(table: FindingTable, weight: Floats) -> Floats:
    """(g, g): the likelihood of `weight` for every two groups of the finding."""
    step = (weight - np.append(weight[1:], 0.0)) * table.leak
    return np.asarray(np.tensordot(step, table.both, axes=1))


def gathered(table: FindingTable, weights: Floats) -> Floats:
    """(n+1, n+1) -> (g, g): cells added up by the groups of the finding."""
    member = (table.groups == np.arange(table.both.shape[1])[:, None]).astype(float)
    return np.asarray(member @ weights @ member.T)


def _spread(table: FindingTable, cells: Floats) -> Floats:
    """(g, g) -> (n+1, n+1)."""
    return np.asarray(cells[:, table.groups][table.groups])


def prior(network: Network, complaint: str = "", excluded: Mapping[str, float] = MappingProxyType({})) -> Belief:
    """Belief before any check; the odds of excluded causes are multiplied by what is given of each.

    Two causes at once are reported as either of them, half and half.
    """
    odds = network.odds.copy()
    for cause, left in excluded.items():
        if cause in network.causes:
            odds[network.columns(cause)] *= left
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
    weights = _spread(table, by_groups(table, weight) ** belief.network.temper)
    weights *= belief.weights
    return _scaled(belief.network, weights, belief.log_evidence)


def untempered(belief: Belief) -> Belief:
    """The same belief, going on with likelihoods at face value."""
    return replace(belief, network=replace(belief.network, temper=1.0))


def _scaled(network: Network, weights: Floats, log_evidence: float, course: Course | None = None) -> Belief:
    """Belief with these weights, which are taken over and scaled in place."""
    total = float(weights.sum()) / 2.0
    if not total > 0.0:
        raise ImpossibleEvidence("no combination of known causes explains these answers; re-check the last ones")
    weights /= total
    return Belief(network, weights, log_evidence + float(np.log(total)), course.scaled(total) if course else None)


def still_failing(belief: Belief, cause: str, botched: float) -> Belief:
    """Belief over what is still wrong after `cause` was repaired and the trouble is still there.

    A set without the cause is untouched; {cause, other} becomes {other}; {cause} alone is ruled out, but for
    the chance `botched` that the repair itself went wrong. Raises ImpossibleEvidence where nothing is left.
    """
    own, course = _places(belief.network, cause), belief.course or Course(belief.weights[0].copy())
    intact = _intact(belief, course)
    gone = (1.0 - botched) * intact[own]
    gone[:, 0] = 0.0
    intact[own, :] *= botched
    intact[:, own] *= botched
    left = [Removed(r.repair, r.own, _but(r.weights, own, botched)) for r in course.removed]
    course = Course(intact[0].copy(), (*left, Removed(course.repairs, own, gone)), course.repairs + 1)
    return _scaled(belief.network, course.folded(intact), belief.log_evidence, course)


def _places(network: Network, cause: str) -> Indices:
    return np.arange(len(network.odds))[network.columns(cause)]


def _but(weights: Floats, own: Indices, share: float) -> Floats:
    """The same with what is left of the sets in which these columns are left."""
    weights = weights.copy()
    weights[:, own] *= share
    return weights


def _intact(belief: Belief, course: Course) -> Floats:
    """(n+1, n+1): the sets at the start from which nothing was removed."""
    intact = belief.weights.copy()
    intact[0, :] = intact[:, 0] = course.alone
    return intact


def absorb(belief: Belief, seen: Observation, slip: float, before: Sequence[Heard] = ()) -> Belief:
    """Belief after one observation that is wrong with probability `slip`; `before`: what was heard of it earlier."""
    table, course, temper = belief.network.tables[seen.finding], belief.course, belief.network.temper
    now = (*before, Heard(course.repairs if course else 0, seen.state, slip))
    factor = by_groups(table, told(table, now)) / by_groups(table, told(table, before))
    spread = _spread(table, factor**temper)
    if course is None:
        spread *= belief.weights
        return _scaled(belief.network, spread, belief.log_evidence)
    removed = tuple(_more_heard(table, each, before, now, temper) for each in course.removed)
    after = Course(course.alone * spread[0], removed, course.repairs)
    return _scaled(belief.network, after.folded(_intact(belief, course) * spread), belief.log_evidence, after)


def _more_heard(
    table: FindingTable, gone: Removed, before: Sequence[Heard], now: Sequence[Heard], temper: float
) -> Removed:
    """The sets with something removed, after one more answer."""
    factor = more_told(table, gone, before, now)
    return replace(gone, weights=gone.weights * factor[:, table.groups] ** temper)


def heard_again(belief: Belief, table: FindingTable, before: Sequence[Heard], slip: float) -> Floats:
    """(K, n+1): P(column present, answer = state) of a finding that was heard of before the last repair.

    What no repair has changed shows the same again. Entry 0 of a row is 'exactly one cause'.
    """
    course, size = belief.course or Course(belief.weights[0]), len(table.states)
    last = table.states.index(before[-1].state)
    rows = np.zeros((size, table.columns))
    rows[last] = _intact(belief, course).sum(axis=1)
    for gone in course.removed:
        if any(h.repairs > gone.repair for h in before):
            new = np.zeros_like(rows)
            new[last] = gone.weights.sum(axis=0)
        else:
            shares = next_answer(table, gone, before, slip)[:, :, table.groups]
            new = np.einsum("kwn,wn->kn", shares, gone.weights)
        new[:, 0] = new.sum(axis=1)
        rows += new
    return rows
