"""The ways in which the fault may still be, for looking ahead: hundreds of columns have next to no chance left.

A column with less than `NEAR` is left out of what a check promises; of n columns that is less than n times `NEAR` of
the whole. The belief itself keeps every one.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.core.network import FindingTable, Floats, Indices
from diagnose.core.posterior import Belief

NEAR = 1e-5


@dataclass(frozen=True)
class NearBelief:
    """A belief without its unlikely columns; place 0, 'no second cause', always stays."""

    belief: Belief

    @cached_property
    def kept(self) -> Indices:
        """(m,): the places of the columns that are kept."""
        likely = self.belief.columns > NEAR
        likely[0] = True
        return np.flatnonzero(likely)

    @cached_property
    def columns(self) -> Floats:
        """(m,): P(column), with any partner."""
        return self.belief.columns[self.kept]

    @cached_property
    def weights(self) -> Floats:
        """(m, m)."""
        return self.belief.weights[np.ix_(self.kept, self.kept)]

    def table(self, whole: FindingTable) -> FindingTable:
        """The table of a finding over the columns that are kept."""
        place = self._place[whole.touched]
        here = place >= 0
        own, groups = whole.own[:, here], whole.groups[here]
        return FindingTable(
            whole.id, whole.states, whole.leak, place[here], own, groups, whole.alone, whole.both, len(self.kept)
        )

    def by_cause(self, rows: Floats) -> Floats:
        """(K, m) -> (K, causes+1); a cause without a column that is kept has 0."""
        found = np.zeros((len(rows), len(self.belief.network.causes) + 1))
        found[:, self._owners] = np.add.reduceat(rows, self._firsts, axis=1)
        return found

    @cached_property
    def _place(self) -> Indices:
        place = np.full(len(self.belief.columns), -1, dtype=np.intp)
        place[self.kept] = np.arange(len(self.kept))
        return place

    @cached_property
    def _owner_of(self) -> Indices:
        """(m,): the place of each kept column's cause in an array by cause."""
        network = self.belief.network
        owners = np.array(network.owners or range(len(network.causes)), dtype=np.intp)
        return np.concatenate([[0], owners + 1])[self.kept]

    @cached_property
    def _firsts(self) -> Indices:
        return np.flatnonzero(np.diff(self._owner_of, prepend=-1))

    @cached_property
    def _owners(self) -> Indices:
        return self._owner_of[self._firsts]
