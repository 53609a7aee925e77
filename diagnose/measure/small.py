"""Corners of a knowledge base small enough for the exact optimum, and how far above it each way of asking comes.

A corner is a few causes with the checks that tell them apart, cut out of the knowledge as it is: the causes' priors
relative to each other, the findings' chances with the usual share of wrong answers, the checks' minutes and the
repairs' minutes. Exactly one fault, and every access is paid for each time it is needed, for all policies alike.
A cause that shows itself in several ways shows each finding as often as these ways do together, weighted by their
odds; that one way ties several findings together is left out, as the dynamic programme knows causes only.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from diagnose.core import permit
from diagnose.core.asking import repair_minutes
from diagnose.core.network import FindingTable, Floats, Network, dense_table
from diagnose.core.policy import Costs, Gain, Option, choose, look_ahead, most_telling
from diagnose.core.posterior import Belief
from diagnose.core.repair import expected_cost
from diagnose.measure.optimal import (
    SPECIALIST,
    UNASKED,
    Action,
    Policy,
    ProblemState,
    SmallProblem,
    expected_minutes,
    joint,
    optimum,
    stacked,
)
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Setup

CAUSES, CHECKS, NEAREST = 5, 5, 12
MOST_STATES = 3  # of a finding: the exact optimum goes over (states + 1) ** CHECKS * 2 ** CAUSES situations
Chooser = Callable[[Sequence[Gain], float], Gain | None]


@dataclass(frozen=True)
class Corner:
    """The problem for the dynamic programme, and the same as a network for the tool's own look-ahead."""

    problem: SmallProblem
    network: Network
    options: tuple[Option, ...]
    slip: float


@dataclass(frozen=True, slots=True)
class Excess:
    """Expected minutes over the optimum, relative: over all corners."""

    mean: float
    p95: float
    worst: float
    corners: int


def draw_corner(kb: KnowledgeBase, network: Network, setup: Setup, rng: np.random.Generator) -> Corner | None:
    """A random cause, four of those that share most findings with it, and the checks that most of them bear on."""
    bears = _bearing(kb, network, setup)
    first = int(rng.integers(len(network.causes)))
    shared = bears[:, [first]].T @ bears
    near = [i for i in np.argsort(-shared[0], kind="stable") if i != first and shared[0, i]][:NEAREST]
    if len(near) < CAUSES - 1:
        return None
    causes = [first, *(int(i) for i in rng.choice(near, CAUSES - 1, replace=False))]
    told = bears[:, causes].sum(axis=1)
    ids = [c.id for c in _scored(kb, setup)]
    best = sorted(range(len(ids)), key=lambda i: (-told[i], rng.random()))[:CHECKS]
    if len(best) < CHECKS or not told[best].all():
        return None
    return _corner(kb, network, [kb.checks[ids[i]] for i in best], causes)


def _scored(kb: KnowledgeBase, setup: Setup) -> list[Check]:
    few = (c for c in kb.checks.values() if c.finding and len(c.finding.states) <= MOST_STATES)
    return [c for c in few if not c.locked and permit.may_do(c, setup)]


def _bearing(kb: KnowledgeBase, network: Network, setup: Setup) -> Floats:
    """1 where a check's finding bears on a cause, shape (checks, causes)."""
    columns = ((network.tables[c.id].cumulative < 1.0).any(axis=0) for c in _scored(kb, setup))
    return np.array([network.by_cause(c.astype(float))[1:] > 0.0 for c in columns], dtype=float)


def _corner(kb: KnowledgeBase, network: Network, checks: Sequence[Check], causes: Sequence[int]) -> Corner:
    kept = [0, *(i + 1 for i in causes)]
    tables = {c.id: _cut(network, network.tables[c.id], kept) for c in checks}
    names = tuple(network.causes[i] for i in causes)
    common = network.by_cause(network.odds)[kept[1:]]
    odds = np.concatenate(([1.0], common / common.sum()))
    options = tuple(Option(c.id, c.id, _minutes(kb, c)) for c in checks)
    repair = np.array([repair_minutes(kb, kb.causes[n], frozenset()) for n in names])
    problem = SmallProblem(
        prior=odds[1:],
        outcomes=_outcomes(list(tables.values()), kb.settings.slip),
        test=np.array([o.own for o in options]),
        repair=repair,
        specialist=np.array(kb.settings.specialist_minutes),
    )
    return Corner(problem, Network(names, odds, {}, tables), options, kb.settings.slip)


def _cut(network: Network, table: FindingTable, kept: Sequence[int]) -> FindingTable:
    """The finding for a few causes, each with its ways mixed."""
    mixed = network.by_cause(table.cumulative * network.odds) / network.by_cause(network.odds)
    return dense_table(table.id, table.states, table.leak, mixed[:, list(kept)])


def _minutes(kb: KnowledgeBase, check: Check) -> float:
    opening = kb.access[check.access].minutes if check.access else 0.0
    return check.minutes + kb.settings.asking_minutes + opening


def _outcomes(tables: Sequence[FindingTable], slip: float) -> Floats:
    """P(answer | cause alone) with wrong answers, zeros where a table has fewer states; shape (T, K, n)."""
    most, causes = max(len(t.states) for t in tables), tables[0].cumulative.shape[1] - 1
    found = np.zeros((len(tables), most, causes))
    for t, table in enumerate(tables):
        exact = np.diff(table.leak[:, None] * table.cumulative[:, 1:], axis=0, prepend=0.0)
        other = slip / (len(table.states) - 1)
        found[t, : len(table.states)] = (1.0 - slip) * exact + other * (1.0 - exact)
    return found


def follow(corner: Corner, choose_check: Chooser) -> Policy:
    """Ask what the chooser picks, else repair in order of probability over minutes; go on after a failed repair."""

    def policy(problem: SmallProblem, state: ProblemState) -> Action:
        left = joint(problem, state)
        weights = np.zeros((len(left) + 1, len(left) + 1))
        weights[0, 1:] = weights[1:, 0] = left / left.sum()
        open_still = [o for o, a in zip(corner.options, state.answers, strict=True) if a == UNASKED]
        costs = Costs(problem.repair, float(problem.specialist))
        gains = look_ahead(Belief(corner.network, weights, 0.0), open_still, costs, corner.slip)
        if chosen := choose_check(gains, float(weights[0].max())):
            return "test", corner.options.index(chosen.option)
        return next_repair(problem, left)

    return policy


def next_repair(problem: SmallProblem, left: Floats) -> Action:
    """Most probable per minute, unless giving the job away is cheaper than every list of repairs."""
    if expected_cost(left[None, :], problem.repair, float(problem.specialist))[0] >= problem.specialist:
        return SPECIALIST
    return "repair", int(np.argmax(np.where(left > 0, left / problem.repair, -1.0)))


def choosers(kb: KnowledgeBase, rng: np.random.Generator) -> Mapping[str, Chooser]:
    """The ways of asking: the tool's own, its minutes alone, and the same simple ones as over whole visits."""
    sure, least = kb.settings.conclude_at, kb.settings.least_bits_per_minute

    def until_sure(pick: Chooser, gains: Sequence[Gain], leader: float) -> Gain | None:
        return pick(gains, leader) if gains and leader < sure else None

    return {
        "tool": partial(until_sure, lambda gains, _: choose(gains) or most_telling(gains, least)),
        "minutes_only": lambda gains, _: choose(gains),
        "fixed_order": partial(until_sure, lambda gains, _: min(gains, key=lambda g: (g.minutes, g.option.check))),
        "random": partial(until_sure, lambda gains, _: gains[int(rng.integers(len(gains)))]),
        "entropy": partial(until_sure, lambda gains, _: max(gains, key=lambda g: g.bits / g.minutes)),
        "no_checks": lambda *_: None,
    }


def corners(kb: KnowledgeBase, network: Network, setup: Setup, many: int, seed: int) -> list[Corner]:
    """At most `many` corners, reproducible from the seed."""
    rng = np.random.default_rng(seed)
    drawn = (draw_corner(kb, network, setup, rng) for _ in range(4 * many))
    return [c for c in drawn if c is not None][:many]


def excesses(kb: KnowledgeBase, drawn: Sequence[Corner], seed: int) -> dict[str, Excess]:
    """Every way of asking against the exact optimum of every corner."""
    best = _optima(drawn)
    ways = choosers(kb, np.random.default_rng(seed))
    found = {}
    for name, chooser in ways.items():
        spent = np.array([expected_minutes(c.problem, follow(c, chooser)) for c in drawn])
        over = spent / best - 1.0
        found[name] = Excess(float(over.mean()), float(np.quantile(over, 0.95)), float(over.max()), len(drawn))
    return found


def _optima(drawn: Sequence[Corner]) -> Floats:
    """Corners whose findings have equally many states are solved together."""
    best = np.zeros(len(drawn))
    sizes = [c.problem.outcomes.shape for c in drawn]
    for size in set(sizes):
        at = [i for i, s in enumerate(sizes) if s == size]
        best[at] = optimum(stacked([drawn[i].problem for i in at]))
    return best
