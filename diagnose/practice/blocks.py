"""The installation as blocks in the order a signal takes, with how likely each holds a fault: where to look."""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from diagnose.core.posterior import Belief
from diagnose.model.knowledge import Check, KnowledgeBase

# block -> the cause families in it, from the power coming in to the people driving through
BLOCKS: dict[str, tuple[str, ...]] = {
    "supply": ("supply",),
    "wiring": ("wiring",),
    "sensor": ("hardware",),
    "mounting": ("mounting",),
    "zone": ("zone",),
    "surroundings": ("environment",),
    "output": ("output",),
    "monitoring": ("monitoring",),
    "controller": ("controller", "other_opening"),
    "gate": ("mechanics",),
    "people": ("site",),
    "outside": ("outside",),
}
GOOD_BELOW = 0.02  # a block less likely than this to hold a fault counts as good; judgement


@dataclass(frozen=True, slots=True)
class Block:
    """`fault`: probability that some cause in it is present."""

    id: str
    fault: float

    @property
    def good(self) -> bool:
        return self.fault < GOOD_BELOW


def blocks(kb: KnowledgeBase, belief: Belief) -> list[Block]:
    """Every block with causes at this gate, in signal order."""
    names = belief.network.names
    found = []
    for block, families in BLOCKS.items():
        inside = np.array([False, *(kb.causes[c].family in families for c in names)])
        if inside.any():
            outside = np.triu(belief.weights)[np.ix_(~inside, ~inside)].sum()
            found.append(Block(block, float(max(0.0, 1.0 - outside))))
    return found


def block_of_family(family: str) -> str:
    """The block a cause family belongs to; its own name when it belongs to none."""
    return next((block for block, families in BLOCKS.items() if family in families), family)


def block_of_check(kb: KnowledgeBase, check: Check) -> str:
    """The block of most causes with this check among their signs; 'facts' for the opening and facts of the site."""
    if check.finding is None or check.id in kb.settings.opening:
        return "facts"
    held = Counter(block_of_family(c.family) for c in kb.causes.values() if check.finding.id in c.signs)
    return min(held, key=lambda b: (-held[b], list(BLOCKS).index(b) if b in BLOCKS else 99), default="facts")
