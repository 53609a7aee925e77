"""Belief -> the next check, by what it saves in expected minutes to a proven repair.

One-step look-ahead. A check saves the expected repair minutes without it minus those with it, over all its
outcomes. That misses checks that only pay together with a later one, so information has a price too: knowing
the cause outright would save so many minutes, spread evenly over the bits still open. A check is valued at the
larger of the two, and the best value per minute is asked, as long as it exceeds 1. Checks behind the same
closed cover are judged together, by their best prefix. On 200 random problems (tests/core/test_policy.py) this
costs 1.0 % more than the optimum; information alone costs 43 % more.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.core.near import NearBelief
from diagnose.core.network import FindingTable, Floats, Indices
from diagnose.core.posterior import Belief
from diagnose.core.repair import TINY, expected_cost

BATCH = 32  # checks looked ahead at a time


@dataclass(frozen=True, slots=True)
class Option:
    """A check that may be asked now: `own` minutes (with its needs), and its access group with what opening costs."""

    check: str
    finding: str
    own: float
    group: str = ""
    opening: float = 0.0


@dataclass(frozen=True, slots=True)
class Costs:
    """`repair` (n,) minutes of remedy and proof per cause; `specialist` minutes of giving the job away."""

    repair: Floats
    specialist: float


@dataclass(frozen=True, slots=True)
class Gain:
    """What one check promises. `worth`: minutes its `bits` are worth; `chances` of the finding's states, in order."""

    option: Option
    minutes: float
    saves: float
    bits: float
    worth: float
    chances: tuple[float, ...]

    @property
    def value(self) -> float:
        return max(self.saves, self.worth)

    @property
    def pays(self) -> bool:
        return self.saves > self.minutes


def look_ahead(belief: Belief, options: Sequence[Option], costs: Costs, slip: float) -> list[Gain]:
    """The gain of every option, in the order given; some at a time, so that memory stays small and near."""
    now = float(expected_cost(belief.marginals[None, 1:], costs.repair, costs.specialist)[0])
    price = _bit_price(belief.marginals[1:], costs, now) if len(options) > 1 else 0.0  # the last has no later one
    batches = (options[i : i + BATCH] for i in range(0, len(options), BATCH))
    near = NearBelief(belief)
    return [gain for batch in batches for gain in _gains(near, batch, costs, slip, now, price)]


def _gains(
    near: NearBelief, options: Sequence[Option], costs: Costs, slip: float, now: float, price: float
) -> Iterator[Gain]:
    belief = near.belief
    tables = [belief.network.tables[o.finding] for o in options]
    starts = np.cumsum([0, *(len(t.states) for t in tables)])
    joint = np.concatenate([_heard(near, t, slip) for t in tables])
    sums = joint.sum(axis=1)
    chance = sums / np.repeat(np.add.reduceat(sums, starts[:-1]), np.diff(starts))  # whole without the unlikely too
    causes = np.maximum(joint[:, 1:], TINY)
    after = expected_cost(causes, costs.repair, costs.specialist)
    saves = now - np.add.reduceat(chance * after, starts[:-1])
    bits = np.maximum(np.add.reduceat(chance * _surprise(belief.marginals[1:], causes), starts[:-1]), 0.0)
    chances = chance.tolist()
    for i, (option, saved, told) in enumerate(zip(options, saves.tolist(), bits.tolist(), strict=True)):
        minutes, each = option.own + option.opening, tuple(chances[starts[i] : starts[i + 1]])
        yield Gain(option, minutes, saved, told, told * price, each)


def _heard(near: NearBelief, whole: FindingTable, slip: float) -> Floats:
    """P(cause present, answer = state), shape (K, causes+1); entry 0 is 'exactly one cause', a row sums to 2 P.

    P(state <= k, cause) is the leak's share of P(cause), less what the cause's partners among the touched
    causes take away, times the cause's own share where it is touched itself.
    """
    table = near.table(whole)
    rows = near.columns - (1.0 - table.shown) @ near.weights[table.touched]
    rows[:, table.touched] *= table.shown
    if whole.excess is not None:
        mixing = np.flatnonzero(whole.mixing[table.groups])
        rows[:-1, table.touched[mixing]] += _beyond(near, table, mixing, whole.excess)
    rows *= table.leak[:, None]
    rows[1:] -= rows[:-1].copy()
    other = slip / (len(rows) - 1)
    rows *= 1.0 - slip - other
    rows += other * near.columns
    return near.by_cause(rows)


def _beyond(near: NearBelief, table: FindingTable, mixing: Indices, excess: Floats) -> Floats:
    """(K-1, m): what partners that share an effect with a column, or hide it, differ by from independent ones.

    `mixing` (m,): the places among the touched of those that have such partners, in the order of their groups.
    """
    t, g, own = table.touched[mixing], table.groups[mixing], table.own[:-1, mixing]
    if not len(t):
        return own
    firsts = np.flatnonzero(np.diff(g, prepend=-1))
    partners = near.weights[np.ix_(t, t)]
    grouped = np.repeat(np.add.reduceat(partners, firsts, axis=1)[None], len(own), axis=0)  # (K-1, m, groups)
    group = np.searchsorted(firsts, np.arange(len(t)), side="right") - 1
    for j in np.flatnonzero((own != 1.0).any(axis=0)):  # few show the finding of their own account as well
        grouped[:, :, group[j]] += (own[:, j] - 1.0)[:, None] * partners[:, j]
    return np.asarray(own * np.einsum("kmg,kmg->km", excess[:, g][:, :, g[firsts]], grouped))


def _surprise(marginals: Floats, causes: Floats) -> Floats:
    """Bits each answer tells about which cause it is, single-fault reading: KL divergence per row."""
    before = np.maximum(marginals / marginals.sum(), TINY)
    after = causes / causes.sum(axis=1, keepdims=True)
    return np.asarray(np.einsum("ij,ij->i", after, np.log2(after)) - after @ np.log2(before))


def _bit_price(marginals: Floats, costs: Costs, now: float) -> float:
    """Minutes that knowing the cause outright would save, per bit that is still open."""
    share = np.maximum(marginals / marginals.sum(), TINY)
    known = float(share @ np.minimum(costs.repair, costs.specialist))
    return max(0.0, now - known) / max(float(-share @ np.log2(share)), 1e-6)


def choose(gains: Sequence[Gain]) -> Gain | None:
    """The check to ask next, or None when concluding is cheaper."""
    lent = _lent_rates(gains)
    rated = [(round(max(g.value / g.minutes, lent.get(id(g), 0.0)), 9), g.bits / g.minutes, g) for g in gains]
    return max((r for r in rated if r[0] > 1.0), key=lambda r: r[:2], default=(0.0, 0.0, None))[2]


def most_telling(gains: Sequence[Gain], least: float = 0.0) -> Gain | None:
    """The check that tells most bits per minute, if any tells more than `least`; for going on when none pays."""
    telling = (g for g in gains if g.bits / g.minutes > least)
    return max(telling, key=lambda g: (g.bits / g.minutes, g.saves), default=None)


def _lent_rates(gains: Sequence[Gain]) -> Mapping[int, float]:
    """Value per minute of the best prefix of each closed group, lent to the group's best check (its identity)."""
    groups = defaultdict[str, list[Gain]](list)
    for gain in gains:
        if gain.option.opening:
            groups[gain.option.group].append(gain)
    ranked = [sorted(inside, key=lambda g: -g.value / g.option.own) for inside in groups.values()]
    return {id(inside[0]): _best_prefix_rate(inside) for inside in ranked}


def _best_prefix_rate(inside: Sequence[Gain]) -> float:
    spent, saved, best = inside[0].option.opening, 0.0, 0.0
    for gain in inside:
        spent, saved = spent + gain.option.own, saved + gain.value
        best = max(best, saved / spent)
    return best
