"""The numbers inference works on.

Two layers: columns above, findings below, noisy-MAX between them (noisy-OR when a finding has two states). A cause
that shows itself in one way has one column, another has one for each way (see chain.py). Leak convention: net (Diez).
For finding states 0..K-1 ordered normal to abnormal,

    P(state <= k | columns i, j) = leak_k * both_k[group i, group j]

cumulative. Columns that show the same of a finding are one group of it. What two groups show together is the product
of what each shows, save where they share an effect (it shows once) or one hides the other. Group 0 holds the columns
without a link to the finding and shows only the leak: 1 everywhere. Nothing here cancels, unlike in Quickscore.
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
    """One finding. `leak` (K,) cumulative; `groups` (n+1,) the group of each column, place 0 being 'no second cause';
    `both` (K, g, g), cumulative, what two groups show at once; with group 0 what one of them shows alone.
    """

    id: str
    states: tuple[str, ...]
    leak: Floats
    groups: Indices
    both: Floats

    @property
    def columns(self) -> int:
        """n+1."""
        return len(self.groups)

    @property
    def alone(self) -> Floats:
        """(K, g): what a column of each group shows by itself, without the leak."""
        return self.both[:, :, 0]

    @cached_property
    def touched(self) -> Indices:
        """Places of the columns that bear on the finding."""
        return np.flatnonzero(self.groups)

    @cached_property
    def excess(self) -> Floats:
        """(K-1, g, g): by how much two groups together differ from the product of the two."""
        beyond = self.both[:-1] - self.alone[:-1, :, None] * self.alone[:-1, None, :]
        beyond[np.abs(beyond) <= 1e-12] = 0.0
        return beyond

    @cached_property
    def mixing(self) -> NDArray[np.bool_]:
        """(g,): the groups that share an effect with another, or where one hides the other."""
        return np.asarray((self.excess != 0.0).any(axis=(0, 2)))

    def below(self, columns: Sequence[int]) -> Floats:
        """(K,): P(state <= k) when one or two columns are there, given by their places in an (n+1,) array."""
        i, j = (*columns, 0)[:2]
        return np.asarray(self.leak * self.both[:, self.groups[i], self.groups[j]])

    @property
    def cumulative(self) -> Floats:
        """(K, n+1): what each column shows by itself, without the leak; column 0 is 'no second cause'."""
        return self.alone[:, self.groups]


def dense_table(name: str, states: Sequence[str], leak: Floats, cumulative: Floats) -> FindingTable:
    """Table of a finding given for all causes: `cumulative` (K, n+1), column 0 is 'no second cause'."""
    nothing = np.ones((len(states), 1))
    shown, place = np.unique(np.concatenate([nothing, cumulative], axis=1), axis=1, return_inverse=True)
    order = np.argsort(np.arange(shown.shape[1]) != place[0], kind="stable")  # what shows nothing comes first
    alone = shown[:, order]
    groups = np.argsort(order)[place.ravel()[1:]].astype(np.intp)
    return FindingTable(name, tuple(states), leak, groups, alone[:, :, None] * alone[:, None, :])


@dataclass(frozen=True)
class Network:
    """`odds` (n+1,) prior odds of each column, odds[0] = 1 stands for 'no second cause'.

    `owners` (n,) says which of `causes` each column belongs to, in ascending order; without them every cause has one.
    `presenting` maps a complaint to (n+1,): P(reported with it | the cause alone). `temper`: the power to which every
    likelihood is raised when the belief is updated; see settings. `together` (n+1, n+1): by how much more often two
    columns go together than independent ones, where any do. `begins` (n,): the link of the chain at which the fault
    of each column starts, '' where at none that is shown.
    """

    causes: tuple[str, ...]
    odds: Floats
    presenting: Mapping[str, Floats]
    tables: Mapping[str, FindingTable]
    temper: float = 1.0
    owners: tuple[int, ...] = ()
    together: Floats | None = None
    begins: tuple[str, ...] = ()

    @cached_property
    def stacked(self) -> tuple[Mapping[str, int], Floats]:
        """Where the rows of each finding begin, and (rows, n+1): P(state <= k | the column alone), leak left out, for
        all findings one below the other, the last state of each left out."""
        sizes = np.cumsum([0, *(len(t.states) - 1 for t in self.tables.values())])
        rows = [t.cumulative[:-1] for t in self.tables.values()]
        return dict(zip(self.tables, sizes.tolist(), strict=False)), np.concatenate(rows)

    @cached_property
    def squared(self) -> Floats:
        """(rows, n+1): the squares of the stacked rows."""
        return self.stacked[1] ** 2

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
