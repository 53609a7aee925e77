"""What repairs change and what lasts: one exact likelihood over what was wrong at the start and what each repair
removed.

A set of causes at the start stays as it is, or a repair removes one of it (or goes wrong, and removes nothing). What
nothing has touched shows the same again, so a repeated answer tells nothing. A finding is the largest of what each
cause shows of its own, each fixed once: after cause c is removed from {c, j} what j shows is still the same. With
F before and G after, Z what c shows and Y what j and the leak show,

    F = max(Z, Y),  G = Y:  P(answers) = sum over y, z of P(y) P(z) w(max(z, y), y)

where w is how probable the answers are: whoever looks twice at the same state answers the same.

Where c hid j, F is no such maximum: what comes to light is then independent of what was seen before.
(Breese & Heckerman, UAI 1996: persistence of mechanisms; Howard canonical form.)
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.core.network import FindingTable, Floats, Indices
from diagnose.model.visit import Observation

CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Heard:
    """An answer to a finding's check, given after so many repairs; wrong with probability `slip`."""

    repairs: int
    state: str
    slip: float


@dataclass(frozen=True, slots=True)
class Mended:
    """A repair that was made although the trouble went on; `botched` is the chance that the repair failed."""

    cause: str
    botched: float


Step = Observation | Mended


@dataclass(frozen=True)
class Removed:
    """Sets from which a repair, number `repair` from 0, removed its cause; `own` (w,) are the columns of that cause.

    `weights` (w, n+1): which column was removed, and which is left.
    """

    repair: int
    own: Indices
    weights: Floats


@dataclass(frozen=True)
class Course:
    """`alone` (n+1,): single causes at the start from which nothing was removed. `repairs` so far."""

    alone: Floats
    removed: tuple[Removed, ...] = ()
    repairs: int = 0

    def folded(self, weights: Floats) -> Floats:
        """The sets that are there now: `weights` with its single causes filled in, in place."""
        now = self.alone + sum((r.weights.sum(axis=0) for r in self.removed), np.zeros(len(self.alone)))
        weights[0, :] = weights[:, 0] = now
        return weights

    def removed_by(self, repair: int) -> float:
        """P(repair number `repair`, from 0, removed something), once scaled; although the trouble went on."""
        return float(sum(r.weights.sum() for r in self.removed if r.repair == repair))

    def scaled(self, total: float) -> "Course":
        removed = tuple(Removed(r.repair, r.own, r.weights / total) for r in self.removed)
        return Course(self.alone / total, removed, self.repairs)


def evidence_weight(table: FindingTable, state: str, slip: float) -> Floats:
    """Virtual evidence for an answer that is wrong with probability `slip`, shared among the other states."""
    weight = np.full(len(table.states), slip / (len(table.states) - 1))
    weight[table.states.index(state)] = 1.0 - slip
    return weight


def told(table: FindingTable, heard: Iterable[Heard]) -> Floats:
    """(K,): what answers tell of one and the same state; the same answer again tells nothing new."""
    surest: dict[str, float] = {}
    for each in heard:
        surest[each.state] = min(each.slip, surest.get(each.state, 1.0))
    weight = np.ones(len(table.states))
    for state, slip in surest.items():
        weight *= evidence_weight(table, state, slip)
    return weight


def more_told(table: FindingTable, gone: Removed, heard: Sequence[Heard], now: Sequence[Heard]) -> Floats:
    """(w, g): likelihood of the answers `now` over that of those `heard` before, for the column that was removed and
    the group of the one that is left."""
    joint = _before_and_after(table, gone)
    before, after = (np.einsum("wgxy,xy->wg", joint, _told_across(table, gone, each)) for each in (heard, now))
    return np.asarray(after / before)


def _told_across(table: FindingTable, gone: Removed, heard: Sequence[Heard]) -> Floats:
    """(K, K): what answers tell of the states before that repair and after it."""
    before = told(table, [h for h in heard if h.repairs <= gone.repair])
    after = told(table, [h for h in heard if h.repairs > gone.repair])
    weight = np.outer(before, after)
    np.fill_diagonal(weight, told(table, heard))  # where nothing changed it is one and the same look
    return weight


def next_answer(table: FindingTable, gone: Removed, heard: Sequence[Heard], slip: float) -> Floats:
    """(K, w, g): the chance of each answer now, where these were all heard before that repair."""
    joint = np.einsum("wgxy,x->xywg", _before_and_after(table, gone), told(table, heard))
    same = np.einsum("xxwg->wg", joint)
    new = joint.sum(axis=0) - np.einsum("xxwg->xwg", joint)
    other = slip / (len(table.states) - 1)
    answers = (1.0 - slip - other) * new + other * new.sum(axis=0)
    answers[table.states.index(heard[-1].state)] += same
    return np.asarray(answers / joint.sum(axis=(0, 1)))


def _before_and_after(table: FindingTable, gone: Removed) -> Floats:
    """(w, g, K, K): P(state before, state after) for the column removed and the group of the one left."""
    removed = table.groups[gone.own]
    both = (table.leak[:, None, None] * table.both[:, removed, :]).transpose(1, 2, 0)
    left = (table.leak[:, None] * table.both[:, 0, :]).T
    own = _own_share(both, left)
    hidden = _close(both, (table.leak[:, None] * table.alone[:, removed]).T[:, None]) & ~_close(left, table.leak)
    lasts = (np.diff(own) > -CLOSE).all(axis=-1) & (own < 1.0 + CLOSE).all(axis=-1) & ~hidden
    anew = _each(both)[..., :, None] * _each(left)[None, :, None, :]
    return np.where(lasts[..., None, None], _lasting(_each(own), _each(left)), anew)


def _close(one: Floats, other: Floats) -> NDArray[np.bool_]:
    return np.asarray((np.abs(one - other) < CLOSE).all(axis=-1))


def _lasting(z: Floats, y: Floats) -> Floats:
    """(w, g, K), (g, K) -> (w, g, K, K): P(max(z, y), y)."""
    states = np.arange(y.shape[-1])
    reaches = (np.maximum.outer(states, states)[:, :, None] == states).astype(float)  # [z, y, state before]
    return np.asarray(np.einsum("wgz,gy,zyx->wgxy", np.maximum(z, 0.0), y, reaches))


def _own_share(both: Floats, left: Floats) -> Floats:
    """(w, g, K): P(what the removed column shows <= k); where the other one always shows more, it makes no odds."""
    there: NDArray[np.bool_] = np.greater(np.broadcast_to(left, both.shape), 0.0)
    share = np.divide(both, left, out=np.ones_like(both), where=there)
    for k in range(share.shape[-1] - 2, -1, -1):
        share[..., k] = np.where(there[..., k], share[..., k], share[..., k + 1])
    return share


def _each(cumulative: Floats) -> Floats:
    return np.diff(cumulative, axis=-1, prepend=0.0)
