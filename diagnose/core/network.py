"""KnowledgeBase -> the numbers inference works on.

Two layers: causes above, findings below, noisy-MAX between them (noisy-OR when a finding has two states).
Leak convention: net (Diez). For finding states 0..K-1 ordered normal to abnormal,

    P(state <= k | causes present) = leak_k * product over present causes i of c_ik

with leak_k and c_ik cumulative. A cause without a link has c_ik = 1. Products of at most three factors and
one difference of neighbours: nothing here cancels, unlike the inclusion-exclusion of Quickscore.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.model.knowledge import Cause, Finding, KnowledgeBase, Scales, Strength

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Table:
    """One finding. `leak` (K,) cumulative; `shown` (K, t) cumulative, for the t causes that bear on it.

    `touched` (t,) are the columns of those causes in every (n+1,) array. All other causes show only the leak.
    """

    id: str
    states: tuple[str, ...]
    leak: Floats
    touched: Indices
    shown: Floats
    columns: int  # n+1

    @property
    def cumulative(self) -> Floats:
        """(K, n+1), with the causes that do not bear on it; column 0 is 'no second cause'."""
        everywhere = np.ones((len(self.states), self.columns))
        everywhere[:, self.touched] = self.shown
        return everywhere


def dense_table(name: str, states: Sequence[str], leak: Floats, cumulative: Floats) -> Table:
    """Table of a finding given for all causes: `cumulative` (K, n+1), column 0 is 'no second cause'."""
    touched = np.flatnonzero((cumulative != 1.0).any(axis=0))
    return Table(name, tuple(states), leak, touched, cumulative[:, touched], cumulative.shape[1])


@dataclass(frozen=True, slots=True)
class Network:
    """`odds` (n+1,) prior odds of each cause, odds[0] = 1 stands for 'no second cause'.

    `presenting` maps a complaint to (n+1,): P(reported with it | the cause alone). `temper`: the power to which every
    likelihood is raised when the belief is updated; see settings.
    """

    causes: tuple[str, ...]
    odds: Floats
    presenting: Mapping[str, Floats]
    tables: Mapping[str, Table]
    temper: float = 1.0

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
    names, odds = tuple(c.id for c in causes), _odds(causes, kb, weights or {})
    return Network(names, odds, _presenting(causes, kb), _tables(causes, kb), kb.settings.temper)


def strength(value: Strength, scales: Scales) -> float:
    """A word of the strength scale, or the number itself."""
    return scales.strength[value] if isinstance(value, str) else float(value)


def _odds(causes: Sequence[Cause], kb: KnowledgeBase, weights: Mapping[str, float]) -> Floats:
    share = np.array([weights.get(c.id, kb.scales.frequency[c.common]) for c in causes])
    share = share / share.sum()
    spread = 1.0 - float(np.sum(share**2))
    scale = 2.0 * kb.settings.two_fault_odds / spread if spread > 0 else 1.0
    return np.concatenate(([1.0], scale * share))


def _presenting(causes: Sequence[Cause], kb: KnowledgeBase) -> Mapping[str, Floats]:
    shares = np.array([np.zeros(len(kb.complaints)), *(_shares(cause, kb) for cause in causes)])
    return dict(zip(kb.complaints, np.ascontiguousarray(shares.T), strict=True))


def _shares(cause: Cause, kb: KnowledgeBase) -> Floats:
    floor, words = kb.scales.complaint_floor, kb.scales.complaint
    weights = [words[cause.complaints[c]] if c in cause.complaints else floor for c in kb.complaints]
    return np.array(weights) / sum(weights)


def cumulative(shown: Mapping[str, Strength], states: Sequence[str], scales: Scales) -> Floats:
    """Distribution given for the states after the first -> cumulative over all states, shape (K,)."""
    later = [strength(shown[s], scales) if s in shown else 0.0 for s in states[1:]]
    below = 1.0 - np.cumsum(later[::-1])[::-1]
    return np.array([*below, 1.0])


def _tables(causes: Sequence[Cause], kb: KnowledgeBase) -> Mapping[str, Table]:
    touching = defaultdict[str, list[int]](list)
    for column, cause in enumerate(causes, start=1):
        for finding in cause.signs:
            touching[finding].append(column)
    return {f.id: _table(f, touching[f.id], causes, kb.scales) for f in kb.findings.values()}


def _table(finding: Finding, touched: Sequence[int], causes: Sequence[Cause], scales: Scales) -> Table:
    states = tuple(finding.states)
    shown = np.ones((len(states), len(touched)))
    for i, column in enumerate(touched):
        shown[:, i] = cumulative(causes[column - 1].signs[finding.id], states, scales)
    leak = cumulative(finding.leak, states, scales)
    return Table(finding.id, states, leak, np.array(touched, dtype=np.intp), shown, len(causes) + 1)
