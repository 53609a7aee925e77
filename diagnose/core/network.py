"""KnowledgeBase -> the numbers inference works on.

Two layers: causes above, findings below, noisy-MAX between them (noisy-OR when a finding has two states).
Leak convention: net (Diez). For finding states 0..K-1 ordered normal to abnormal,

    P(state <= k | causes present) = leak_k * product over present causes i of c_ik

with leak_k and c_ik cumulative. A cause without a link has c_ik = 1. Products of at most three factors and
one difference of neighbours: nothing here cancels, unlike the inclusion-exclusion of Quickscore.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.model.knowledge import Cause, Finding, KnowledgeBase, Scales, Strength

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Table:
    """One finding. `leak` (K,) cumulative; `cumulative` (K, n+1), column 0 is 'no second cause'."""

    id: str
    states: tuple[str, ...]
    leak: Floats
    cumulative: Floats


@dataclass(frozen=True, slots=True)
class Stack:
    """All tables under each other, one row per finding state, so that look-ahead is one matrix product.

    `columns` (S, n+1) and `leak` (S,) as in Table; `rows` maps a finding to its slice.
    """

    columns: Floats
    leak: Floats
    rows: Mapping[str, slice]


@dataclass(frozen=True, slots=True)
class Network:
    """`odds` (n+1,) prior odds of each cause, odds[0] = 1 stands for 'no second cause'.

    `presenting` maps a complaint to (n+1,): P(reported with it | the cause alone).
    """

    causes: tuple[str, ...]
    odds: Floats
    presenting: Mapping[str, Floats]
    tables: Mapping[str, Table]
    stack: Stack

    def index(self, cause: str) -> int:
        """Position of the cause in every (n+1,) array."""
        return self.causes.index(cause) + 1


def applicable(cause: Cause, devices: Sequence[str]) -> bool:
    """Whether the cause concerns any of the sensor kinds on site; everything does when they are not known."""
    return not cause.devices or not devices or any(d in cause.devices for d in devices)


def compile_network(
    kb: KnowledgeBase, devices: Sequence[str] = (), weights: Mapping[str, float] | None = None
) -> Network:
    """Network over the causes that concern the devices on site.

    `weights` gives learned relative frequencies per cause; without them the words of the knowledge count.
    """
    causes = [c for c in kb.causes.values() if applicable(c, devices)]
    tables = {f.id: _table(f, causes, kb.scales) for f in kb.findings.values()}
    presenting = {name: _presenting(name, causes, kb) for name in kb.complaints}
    odds = _odds(causes, kb, weights or {})
    return Network(tuple(c.id for c in causes), odds, presenting, tables, stack_tables(tables))


def stack_tables(tables: Mapping[str, Table]) -> Stack:
    """The tables under each other, in their order."""
    ends = np.cumsum([len(t.states) for t in tables.values()])
    rows = {t.id: slice(int(end) - len(t.states), int(end)) for t, end in zip(tables.values(), ends, strict=True)}
    if not tables:
        return Stack(np.ones((0, 1)), np.ones(0), rows)
    columns = np.concatenate([t.cumulative for t in tables.values()])
    return Stack(columns, np.concatenate([t.leak for t in tables.values()]), rows)


def strength(value: Strength, scales: Scales) -> float:
    """A word of the strength scale, or the number itself."""
    return scales.strength[value] if isinstance(value, str) else float(value)


def _odds(causes: Sequence[Cause], kb: KnowledgeBase, weights: Mapping[str, float]) -> Floats:
    share = np.array([weights.get(c.id, kb.scales.frequency[c.common]) for c in causes])
    share = share / share.sum()
    spread = 1.0 - float(np.sum(share**2))
    scale = 2.0 * kb.settings.two_fault_odds / spread if spread > 0 else 1.0
    return np.concatenate(([1.0], scale * share))


def _presenting(complaint: str, causes: Sequence[Cause], kb: KnowledgeBase) -> Floats:
    return np.array([0.0, *(_share(complaint, cause, kb) for cause in causes)])


def _share(complaint: str, cause: Cause, kb: KnowledgeBase) -> float:
    floor, words = kb.scales.complaint_floor, kb.scales.complaint
    weights = {c: words[cause.complaints[c]] if c in cause.complaints else floor for c in kb.complaints}
    return weights[complaint] / sum(weights.values())


def cumulative(shown: Mapping[str, Strength], states: Sequence[str], scales: Scales) -> Floats:
    """Distribution given for the states after the first -> cumulative over all states, shape (K,)."""
    later = [strength(shown[s], scales) if s in shown else 0.0 for s in states[1:]]
    below = 1.0 - np.cumsum(later[::-1])[::-1]
    return np.array([*below, 1.0])


def _table(finding: Finding, causes: Sequence[Cause], scales: Scales) -> Table:
    states = tuple(finding.states)
    columns = np.ones((len(states), len(causes) + 1))
    for i, cause in enumerate(causes, start=1):
        if finding.id in cause.signs:
            columns[:, i] = cumulative(cause.signs[finding.id], states, scales)
    return Table(finding.id, states, cumulative(finding.leak, states, scales), columns)
