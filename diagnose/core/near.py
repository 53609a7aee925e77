"""The ways in which the fault may still be, for looking ahead: hundreds of columns have next to no chance left.

A column with less than `NEAR` is left out of what a check promises; of n columns that is less than n times `NEAR` of
the whole. Two faults at once are rare beside one, so the second of them is looked at closely only where its column
has at least `PARTNER`: all others together show what they show on average. The belief itself keeps every one.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from diagnose.core.course import Heard
from diagnose.core.network import FindingTable, Floats, Indices
from diagnose.core.posterior import Belief, heard_again
from diagnose.core.repair import TINY

NEAR = 1e-5
PARTNER = 3e-4


@dataclass(frozen=True)
class NearBelief:
    """A belief without its unlikely columns; place 0, 'no second cause', always stays.

    `before`: what was heard of findings before the last repair; what lasts would be heard again.
    """

    belief: Belief
    before: Mapping[str, Sequence[Heard]] = field(default_factory=dict)

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
    def causes(self) -> Indices:
        """(c,): which causes have a column that is kept, by their places in an array of causes."""
        return np.asarray(self._owner_of[self._firsts][1:] - 1)

    @cached_property
    def marginals(self) -> Floats:
        """(c+1,): P(exactly one cause) and of each of these causes, from the columns that are kept."""
        return self.by_cause(self.columns)

    def by_cause(self, columns: Floats) -> Floats:
        """(..., m) -> (..., c+1)."""
        return np.asarray(np.add.reduceat(columns, self._firsts, axis=-1))

    def glance(self, findings: Iterable[str]) -> Floats:
        """(findings,): bits that each tells at most, single-fault reading, were every answer right.

        Of a state that is shown with probability L by a cause and P by all, bits are at most log2(1 + Var(L) / P^2).
        """
        tables = [self.belief.network.tables[f] for f in findings]
        begin, stacked = self.belief.network.stacked
        sizes = [len(t.states) - 1 for t in tables]
        at = np.concatenate([np.arange(s) + begin[t.id] for s, t in zip(sizes, tables, strict=True)])
        share = self.belief.columns / self.belief.columns[1:].sum()
        share[0] = 0.0
        leak = np.concatenate([t.leak[:-1] for t in tables])
        below = np.clip(leak * (stacked @ share)[at], TINY, 1.0 - 1e-12)
        spread = np.maximum(leak**2 * (self.belief.network.squared @ share)[at] - below**2, 0.0)
        above = 1.0 - below
        bits = below * np.log2(1.0 + spread / below**2) + above * np.log2(1.0 + spread / above**2)
        return np.asarray(np.add.reduceat(bits, np.cumsum([0, *sizes[:-1]])))

    def heard(self, findings: Iterable[str], slip: float) -> tuple[Indices, Floats]:
        """Where the states of each finding begin, and P(cause present, answer = state), shape (states, c+1).

        Entry 0 of a row is 'exactly one cause', a row sums to 2 P(answer).
        """
        tables = [self.belief.network.tables[f] for f in findings]
        sizes = [len(t.states) for t in tables]
        starts = np.cumsum([0, *sizes])
        rows = np.empty((starts[-1], len(self.marginals)))
        lasts, first = starts[1:] - 1, starts[:-1]
        below = np.delete(np.arange(starts[-1]), lasts)
        rows[lasts], rows[below] = self.marginals, self.by_cause(self._below(tables))
        earlier = np.delete(rows, lasts, axis=0)
        rows[np.delete(np.arange(starts[-1]), first)] -= earlier
        other = np.repeat([slip / (size - 1) for size in sizes], sizes)[:, None]
        rows = rows * (1.0 - slip - other) + other * self.marginals
        for table, begin in zip(tables, first, strict=True):
            if before := self.before.get(table.id):
                again = heard_again(self.belief, table, before, slip)
                rows[begin : begin + len(table.states)] = self.by_cause(again[:, self.kept])
        return first, rows

    def _below(self, tables: list[FindingTable]) -> Floats:
        """(rows, m): P(column present, state <= k), for every state but the last of each table, one after another."""
        begin, stacked = self.belief.network.stacked
        at = [np.arange(len(t.states) - 1) + begin[t.id] for t in tables]
        shown = stacked[np.ix_(np.concatenate(at), self.kept)]
        rows = shown[:, self._partners] @ self._with_partners
        rows += np.outer(shown @ self._average, self._with_others)
        rows *= shown
        place = 0
        for table in tables:
            self._add_beyond(table, rows[place : place + len(table.states) - 1])
            place += len(table.states) - 1
        return np.asarray(rows * np.concatenate([t.leak[:-1] for t in tables])[:, None])

    def _add_beyond(self, table: FindingTable, rows: Floats) -> None:
        """Adds to (K-1, m) what partners that share an effect with a column, or hide it, differ by."""
        groups = table.groups[self.kept[self._partners]]
        mixed = np.flatnonzero(table.mixing[groups])
        if not len(mixed):
            return
        g, t = groups[mixed], self._partners[mixed]
        weights = self._with_partners[np.ix_(mixed, t)]
        for k, excess in enumerate(table.excess):
            rows[k, t] += (excess[g][:, g] * weights).sum(axis=1)

    @cached_property
    def _partners(self) -> Indices:
        """(p,): places among the kept of the columns looked at closely as the second of two; place 0, of none."""
        likely = self.columns > PARTNER
        likely[0] = True
        return np.flatnonzero(likely)

    @cached_property
    def _with_partners(self) -> Floats:
        """(p, m): weights of the sets of a partner and a column."""
        return self.belief.weights[np.ix_(self.kept[self._partners], self.kept)]

    @cached_property
    def _with_others(self) -> Floats:
        """(m,): weight of the sets of a column and some other second one."""
        return np.asarray(self.columns - self._with_partners.sum(axis=0))

    @cached_property
    def _average(self) -> Floats:
        """(m,): how often it is which, where there is some other second one."""
        pairs = self.columns - self._with_partners[0]
        pairs[self._partners] = 0.0
        return np.asarray(pairs / max(pairs.sum(), TINY))

    @cached_property
    def _owner_of(self) -> Indices:
        """(m,): the place of each kept column's cause in an array by cause, from 1 on; 0 is 'no second cause'."""
        network = self.belief.network
        owners = np.array(network.owners or range(len(network.causes)), dtype=np.intp)
        return np.concatenate([[0], owners + 1])[self.kept]

    @cached_property
    def _firsts(self) -> Indices:
        return np.flatnonzero(np.diff(self._owner_of, prepend=-1))
