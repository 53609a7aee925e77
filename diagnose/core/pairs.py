"""Which effects are there when two tracks are at once, for all pairs of tracks together.

What `chain.active` works out for one track, effect by effect in the order of the chain, is done here on whole arrays.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.core.chain import Links, Step, Track

Bools = NDArray[np.bool_]


def there_together(links: Links, kinds: Sequence[Track]) -> Bools:
    """(effects, kinds, kinds): in the order of the chain, whether each effect is there when two kinds are at once."""
    on: dict[str, Bools] = {}
    steps = sorted({step for kind in kinds for step in kind.steps})
    into: dict[str, list[Step]] = {e: [step for step in steps if step[1] == e] for e in links.order}
    for effect in links.order:
        found = _either([effect in kind.starts for kind in kinds])
        for step in into[effect]:
            taken = _either([step in kind.steps for kind in kinds]) & on[step[0]]
            for z in _cutting(links, on, step):
                taken &= ~on[z]
            found |= taken
        for z in _hiding(links, on, effect):
            found &= ~on[z]
        if found.any():
            on[effect] = found
    nowhere = np.zeros((len(kinds), len(kinds)), dtype=bool)
    return np.array([on.get(effect, nowhere) for effect in links.order])


def _either(has: Sequence[bool]) -> Bools:
    """(kinds, kinds): whether either of the two has it."""
    one = np.array(has, dtype=bool)
    return np.asarray(one[:, None] | one[None, :])


def _cutting(links: Links, on: dict[str, Bools], step: Step) -> list[str]:
    """The effects that block the step where they are there."""
    effects, place, (a, b) = links.kb.effects, links.place, step
    return [z for z in on if effects[a].link in effects[z].blocks and z not in (a, b) and place[z] <= place[b]]


def _hiding(links: Links, on: dict[str, Bools], effect: str) -> list[str]:
    """The effects that leave this one nothing to act on where they are there."""
    link = links.kb.effects[effect].link
    return [z for z in on if link in links.kb.effects[z].hides and effect not in links.reach[z]]
