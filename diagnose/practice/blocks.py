"""The installation as blocks, the links a signal passes in order, with how likely each holds a fault."""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from diagnose.core.posterior import Belief
from diagnose.model.bearing import bearing
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.words import say

FACTS = "facts"  # the part that checks without a fault behind them are in
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
    for block in kb.links:
        inside = np.array([False, *(block_of_family(kb, kb.causes[c].family) == block for c in names)])
        if inside.any():
            outside = np.triu(belief.weights)[np.ix_(~inside, ~inside)].sum()
            found.append(Block(block, float(max(0.0, 1.0 - outside))))
    return found


def block_of_family(kb: KnowledgeBase, family: str) -> str:
    return kb.families[family].link


def block_of_check(kb: KnowledgeBase, check: Check) -> str:
    """The block of most causes that bear on this check's finding; FACTS for the opening and facts of the site."""
    if check.finding is None or check.id in kb.settings.opening:
        return FACTS
    held = Counter(block_of_family(kb, c.family) for c in kb.causes.values() if check.finding.id in bearing(kb, c))
    return min(held, key=lambda b: (-held[b], list(kb.links).index(b)), default=FACTS)


def part_says(kb: KnowledgeBase, block: str) -> str:
    """What a part of the installation is called."""
    link = kb.links.get(block)
    return link.says if link else say("practice.part_facts")


def family_says(kb: KnowledgeBase, family: str) -> str:
    """What a family of causes is called: as its part, where it has that for itself; '' for no family."""
    if not family:
        return ""
    link = kb.families[family].link
    alone = sum(f.link == link for f in kb.families.values()) == 1
    return kb.links[link].says if alone else kb.families[family].says
