"""Which repair first, and what the repairs are expected to cost.

Kadane & Simon (1977): for one fault and order-free costs, descending probability / cost is optimal. The list
always ends in calling the specialist, who settles everything at a fixed cost, so a repair that is worth
less than going straight to the specialist is never counted on.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.core.network import Floats

FEW = 32  # causes whose order decides nearly every repair list
NEGLIGIBLE = 1e-12  # minutes
TINY = 1e-300  # keeps an impossible cause from dividing by zero


@dataclass(frozen=True, slots=True)
class Action:
    """One repair: probability that it is the one, its own minutes, and the access group it needs ('' = none)."""

    name: Hashable
    probability: float
    minutes: float
    group: str = ""


def expected_cost(joint: Floats, minutes: Floats, specialist: float) -> Floats:
    """Expected minutes of the best repair list, for each row of `joint`.

    joint (m, n): weight of each cause under each of m outcomes (any scale); minutes (n,) > 0. Returns (m,).
    Per row: causes in order of probability / minutes, cut where calling the specialist is cheaper. Only the
    `FEW` best are put in order. A list that goes on after them finds what is `left` at no more than their
    `slowest` rate. Finding at one rate throughout costs least if stopped at once or never, so going on costs at
    least left * min(specialist, left / (2 slowest)). Where that could beat the best cut, all causes are ordered.
    """
    share = joint / joint.sum(axis=1, keepdims=True)
    rate = share / minutes
    if share.shape[1] <= FEW:
        return _best_cut(share, rate, minutes, specialist)[0]
    few = np.argpartition(rate, -FEW, axis=1)[:, -FEW:]
    rates = np.take_along_axis(rate, few, axis=1)
    best, spent, left = _best_cut(np.take_along_axis(share, few, axis=1), rates, minutes[few], specialist)
    slowest = np.maximum(rates.min(axis=1), TINY)
    least = spent + left * np.minimum(specialist, left / (2.0 * slowest))
    more = least < best - NEGLIGIBLE
    best[more] = _best_cut(share[more], rate[more], minutes, specialist)[0]
    return best


def _best_cut(share: Floats, rate: Floats, minutes: Floats, specialist: float) -> tuple[Floats, Floats, Floats]:
    """Cost of the best cut of the list in order of `rate`; minutes spent on all of it, and what that leaves."""
    order = np.argsort(-rate, axis=1)
    sorted_share = np.take_along_axis(share, order, axis=1)
    sorted_minutes = np.take_along_axis(np.broadcast_to(minutes, share.shape), order, axis=1)
    left_after = 1.0 - np.cumsum(sorted_share, axis=1)
    spent = np.cumsum(sorted_minutes * (left_after + sorted_share), axis=1)
    best = np.minimum((spent + specialist * left_after).min(axis=1), specialist)
    return best, spent[:, -1], left_after[:, -1]


def worth_trying(actions: Sequence[Action], specialist: float) -> Sequence[Action]:
    """The beginning of the list after which calling the specialist, at a fixed cost, is cheapest; may be none."""
    spent, left, best, keep = 0.0, 1.0, specialist, 0
    for number, action in enumerate(actions, start=1):
        spent, left = spent + action.minutes * left, max(left - action.probability, 0.0)
        if spent + specialist * left < best:
            best, keep = spent + specialist * left, number
    return actions[:keep]


def best_order(actions: Sequence[Action], opening: dict[str, float]) -> list[Action]:
    """Repair order: best ratio first, a closed group judged by its best prefix (Ottosen & Jensen, UAI 2010)."""
    remaining, open_groups, ordered = list(actions), {""}, list[Action]()
    while remaining:
        blocks = [_best_prefix(group, remaining, open_groups, opening) for group in {a.group for a in remaining}]
        chosen = max(blocks, key=lambda b: (b[0], -remaining.index(b[1][0])))[1][0]
        ordered.append(chosen)
        remaining.remove(chosen)
        open_groups.add(chosen.group)
    return ordered


def _best_prefix(
    group: str, remaining: Sequence[Action], open_groups: set[str], opening: dict[str, float]
) -> tuple[float, list[Action]]:
    inside = sorted((a for a in remaining if a.group == group), key=lambda a: -a.probability / a.minutes)
    if group in open_groups:
        return inside[0].probability / inside[0].minutes, inside[:1]
    spent, gained, best = opening[group], 0.0, (0.0, inside[:1])
    for i, action in enumerate(inside, start=1):
        spent, gained = spent + action.minutes, gained + action.probability
        best = max(best, (gained / spent, inside[:i]), key=lambda b: b[0])
    return best
