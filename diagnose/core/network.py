"""The numbers inference works on.

Two layers: columns above, findings below, noisy-MAX between them (noisy-OR when a finding has two states). A cause
that shows itself in one way has one column, another has one for each way (see chain.py). Leak convention: net (Diez).
For finding states 0..K-1 ordered normal to abnormal,

    P(state <= k | columns i, j) = leak_k * own_ik * own_jk * both_k[group i, group j]

all cumulative: `own` is what a cause shows of its own account, `both` what the effects of the two show together:
the product of what each of them shows, save where they share an effect (it shows once) or one hides the other.
A column without a link to the finding has 1 everywhere. Nothing here cancels, unlike in Quickscore.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True)
class FindingTable:
    """One finding. `leak` (K,) cumulative; `own` (K, t) cumulative, for the t columns that bear on it.

    `touched` (t,) are their places in every (n+1,) array; all other columns show only the leak. `groups` (t,), in
    ascending order, says whose effects are alike as far as this finding goes; `alone` (K, g) is what those of a group
    show, cumulative, and `both` (K, g, g) those of two groups at once.
    """

    id: str
    states: tuple[str, ...]
    leak: Floats
    touched: Indices
    own: Floats
    groups: Indices
    alone: Floats
    both: Floats
    columns: int  # n+1

    @cached_property
    def shown(self) -> Floats:
        """(K, t): all that each column shows when it is alone."""
        return np.asarray(self.own * self.alone[:, self.groups])

    @cached_property
    def excess(self) -> Floats | None:
        """(K-1, g, g): by how much two groups together differ from the product of the two; None where none does."""
        beyond = self.both[:-1] - self.alone[:-1, :, None] * self.alone[:-1, None, :]
        beyond[np.abs(beyond) <= 1e-12] = 0.0
        return beyond if beyond.any() else None

    @cached_property
    def mixing(self) -> NDArray[np.bool_]:
        """(g,): the groups that share an effect with another, or where one hides the other."""
        beyond = self.excess
        return np.zeros(self.both.shape[1], dtype=bool) if beyond is None else (beyond != 0.0).any(axis=(0, 2))

    def below(self, columns: Sequence[int]) -> Floats:
        """(K,): P(state <= k) when one or two columns are there, given by their places in an (n+1,) array."""
        at = [int(i) for c in columns for i in np.flatnonzero(self.touched == c)]
        own, groups = self.own[:, at].prod(axis=1), self.groups[at]
        if len(at) == 2:
            return np.asarray(self.leak * own * self.both[:, groups[0], groups[1]])
        return np.asarray(self.leak * own * self.alone[:, groups].prod(axis=1))

    @property
    def cumulative(self) -> Floats:
        """(K, n+1), with the columns that do not bear on it; column 0 is 'no second cause'."""
        everywhere = np.ones((len(self.states), self.columns))
        everywhere[:, self.touched] = self.shown
        return everywhere


def dense_table(name: str, states: Sequence[str], leak: Floats, cumulative: Floats) -> FindingTable:
    """Table of a finding given for all causes: `cumulative` (K, n+1), column 0 is 'no second cause'."""
    touched = np.flatnonzero((cumulative != 1.0).any(axis=0))
    none = np.zeros(len(touched), dtype=np.intp)
    one = np.ones((len(states), 1))
    return FindingTable(
        name, tuple(states), leak, touched, cumulative[:, touched], none, one, one[:, :, None], cumulative.shape[1]
    )


@dataclass(frozen=True)
class Network:
    """`odds` (n+1,) prior odds of each column, odds[0] = 1 stands for 'no second cause'.

    `owners` (n,) says which of `causes` each column belongs to, in ascending order; without them every cause has one.
    `presenting` maps a complaint to (n+1,): P(reported with it | the cause alone). `temper`: the power to which every
    likelihood is raised when the belief is updated; see settings. `together` (n+1, n+1): by how much more often two
    columns go together than independent ones, where any do.
    """

    causes: tuple[str, ...]
    odds: Floats
    presenting: Mapping[str, Floats]
    tables: Mapping[str, FindingTable]
    temper: float = 1.0
    owners: tuple[int, ...] = ()
    together: Floats | None = None

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The cause of each column."""
        return tuple(self.causes[i] for i in self.owners) if self.owners else self.causes

    @cached_property
    def firsts(self) -> Indices:
        """(causes+1,): where each cause's columns begin in an (n+1,) array, after place 0."""
        owners = self.owners or range(len(self.causes))
        return np.flatnonzero(np.diff([-1, *(i + 1 for i in owners)], prepend=-2))

    def index(self, cause: str) -> int:
        """Position of the cause in every array by cause, place 0 being 'no second cause'."""
        return self.causes.index(cause) + 1

    def columns(self, cause: str) -> slice:
        """The places of the cause's columns in every (n+1,) array."""
        at = self.index(cause)
        last = len(self.odds) if at == len(self.causes) else int(self.firsts[at + 1])
        return slice(int(self.firsts[at]), last)

    def presented(self, complaint: str, cause: str) -> float:
        """P(reported with the complaint | the cause alone)."""
        at = self.columns(cause)
        return float(np.average(self.presenting[complaint][at], weights=self.odds[at]))

    def shown_by(self, table: FindingTable, cause: str) -> Floats:
        """(K,): P(state) when the cause alone is there, in any of its ways."""
        at = self.columns(cause)
        each = table.leak[:, None] * table.cumulative[:, at]
        return np.diff(np.average(each, axis=1, weights=self.odds[at]), prepend=0.0)

    def by_cause(self, columns: Floats) -> Floats:
        """(..., n+1) by column -> (..., causes+1), the columns of a cause summed."""
        return columns if not self.owners else np.add.reduceat(columns, self.firsts, axis=-1)
