"""Where each number of a cause comes from: its own signs, or an effect that it brings on the chain."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.core.compile import Columns, columns_of, cumulative, elsewhere
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Value


@dataclass(frozen=True, slots=True)
class WayTaken:
    """One way of the cause: its share of the cases, the effects that are there, and whether it rests at the visit."""

    share: float
    effects: tuple[str, ...]
    rests: bool


@dataclass(frozen=True, slots=True)
class ShownFinding:
    """What the cause alone shows of a finding, in any of its ways and without a leak: state -> probability.

    `by` are the effects that show it, in the order of the chain, each with the share of the cases in which it is
    there; '' is the cause's own account.
    """

    finding: str
    states: Mapping[str, float]
    by: tuple[tuple[str, float], ...]


def ways_taken(kb: KnowledgeBase, cause: str, values: Mapping[str, Value] | None = None) -> tuple[WayTaken, ...]:
    """Every way, the commonest first."""
    columns = columns_of(kb, [kb.causes[cause]], values or {})
    found = [
        WayTaken(share, _there(columns, i), columns.ways[i][0][1].rests) for i, share in enumerate(columns.shares)
    ]
    return tuple(sorted(found, key=lambda way: -way.share))


def shown_findings(
    kb: KnowledgeBase, cause: str, values: Mapping[str, Value] | None = None
) -> tuple[ShownFinding, ...]:
    """Every finding that the cause bears on, as it is compiled."""
    columns = columns_of(kb, [kb.causes[cause]], values or {})
    ways = [(share, _there(columns, i)) for i, share in enumerate(columns.shares)]
    own = kb.causes[cause].signs
    named = dict.fromkeys([*own, *(f for _, there in ways for e in there for f in kb.effects[e].shows)])
    here = (f for f in named if not elsewhere(kb.findings[f], columns))
    return tuple(_shown(kb, finding, own.get(finding, {}), ways) for finding in here)


def _there(columns: Columns, column: int) -> tuple[str, ...]:
    on = columns.alone[:, columns.kind_of[column]]
    return tuple(e for e, there in zip(columns.links.order, on, strict=True) if there)


def _shown(
    kb: KnowledgeBase, finding: str, own: Mapping[str, str | float], ways: list[tuple[float, tuple[str, ...]]]
) -> ShownFinding:
    states = tuple(kb.findings[finding].states)
    below = np.zeros(len(states))
    by: dict[str, float] = {"": 1.0} if own else {}
    for share, there in ways:
        shows = {e: kb.effects[e].shows[finding] for e in there if finding in kb.effects[e].shows}
        each = [cumulative(shown, states, kb.scales) for shown in (own, *shows.values())]
        below += share * np.prod(each, axis=0)
        by |= {e: by.get(e, 0.0) + share for e in shows}
    chances = np.diff(below, prepend=0.0)
    return ShownFinding(finding, dict(zip(states, chances.tolist(), strict=True)), tuple(by.items()))
