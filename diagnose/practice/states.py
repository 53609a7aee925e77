"""What every finding shows at a hidden gate: what its faults bring, and nothing that they do not.

The ways that the faults take say which effects are there, so a finding is drawn from these alone: no chance
abnormality of a healthy link and no wrong answer, which would teach a trainee to distrust what he sees. Nor what the
faults show but rarely: two rare states at one gate contradict each other more often than not.
"""

from collections.abc import Collection, Sequence

import numpy as np

from diagnose.core.network import FindingTable, Floats, Network
from diagnose.measure.streams import Name, drawn

RARE = 0.25
"""A state less likely than this, the faults being there, is not drawn where another is likelier; judgement."""
States = dict[str, str]


def draw_states(network: Network, ways: Sequence[int], seed: Name) -> tuple[States, frozenset[str]]:
    """Finding -> its state when causes take these ways; and the findings on which those bear."""
    states = {t.id: _state(t, ways, seed) for t in network.tables.values()}
    return states, frozenset(t.id for t in network.tables.values() if any(t.groups[way] for way in ways))


def draw_leads(network: Network, complaint: str, brought: Collection[str], most: int, seed: Name) -> States:
    """So many findings that the faults have nothing to do with, abnormal by chance: as often as each is at gates at
    large, and where some cause of the complaint would have shown it, so that it leads astray."""
    told = network.odds * network.presenting.get(complaint, 1.0)
    by_chance = {t.id: 1.0 - float(t.leak[0]) for t in network.tables.values() if t.id not in brought}
    tempting = {f: p for f, p in by_chance.items() if told[network.tables[f].touched].any()}
    found: States = {}
    while tempting and len(found) < most:
        chosen = drawn(tempting, seed, "lead", len(found))
        del tempting[chosen]
        table = network.tables[chosen]
        odd = dict(zip(table.states[1:], np.diff(table.leak).tolist(), strict=True))
        found[chosen] = drawn(odd, seed, chosen, "lead")
    return found


def _state(table: FindingTable, ways: Sequence[int], seed: Name) -> str:
    chances = _brought(table, ways)
    least = min(RARE, float(chances.max()))
    likely = {s: float(p) for s, p in zip(table.states, chances, strict=True) if p >= least}
    return drawn(likely, seed, table.id, "state")


def _brought(table: FindingTable, ways: Sequence[int]) -> Floats:
    """(K,): the chance of each state by the causes alone, without the leak."""
    i, j = (*ways, 0)[:2]
    return np.diff(table.both[:, table.groups[i], table.groups[j]], prepend=0.0)
