"""Which ways of showing are alike, as far as some effects go.

Two kinds are alike when they have the same of these effects alone and beside every other kind. Nearly all only add to
each other and are known by what they have alone; only where one masks something of the other do their pairs count.
"""

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from diagnose.core.network import Indices
from diagnose.core.pairs import Bools, Crossings

Beside = Mapping[int, tuple[bytes, bytes]]  # kind -> the kinds that it changes something with, and what is there then


def alike(alone: Bools, crossings: Crossings, effects: Indices) -> tuple[Indices, Bools]:
    """(kinds,) the group of each kind, and (effects, groups, groups) which effects are there with two groups at once.

    Group 0 has none of the effects and changes none of another's. `alone` (all effects, kinds).
    """
    own = alone[effects]
    pairs, there = _changed(own, crossings, effects)
    group, members = _grouped(own, _beside(*pairs, there))
    return group, _together(own[:, members], members, pairs, there)


def _changed(own: Bools, crossings: Crossings, effects: Indices) -> tuple[tuple[Indices, Indices], Bools]:
    """The pairs in which one kind changes some effect of the other, and (effects, pairs) what is there then."""
    changed = [crossings.changed[e] for e in effects.tolist()]
    at = np.unique(np.concatenate(changed))
    first, second = crossings.first[at], crossings.second[at]
    there = own[:, first] | own[:, second]
    for row, places in zip(there, changed, strict=True):
        row[np.searchsorted(at, places)] ^= True
    return (first, second), there


def _beside(first: Indices, second: Indices, there: Bools) -> Beside:
    kinds, others = np.concatenate([first, second]), np.concatenate([second, first])
    codes = np.packbits(there, axis=0).T
    codes = np.concatenate([codes, codes])
    order = np.lexsort((others, kinds))
    kinds, others, codes = kinds[order], others[order], codes[order]
    cuts = [*np.flatnonzero(np.diff(kinds, prepend=-1)).tolist(), len(kinds)]
    return {int(kinds[s]): (others[s:e].tobytes(), codes[s:e].tobytes()) for s, e in pairwise(cuts)}


def _grouped(own: Bools, beside: Beside) -> tuple[Indices, list[int]]:
    """(kinds,) group of each kind and a member of each group; group 0 stands for no kind and has the member -1."""
    codes = np.packbits(own, axis=0).T
    numbers: dict[tuple[bytes, ...], int] = {(bytes(codes.shape[1]),): 0}
    group, members = np.zeros(own.shape[1], dtype=np.intp), [-1]
    for kind in sorted({*np.flatnonzero(own.any(axis=0)).tolist(), *beside}):
        key = (codes[kind].tobytes(), *beside.get(kind, ()))
        if key not in numbers:
            numbers[key] = len(numbers)
            members.append(kind)
        group[kind] = numbers[key]
    return group, members


def _together(own: Bools, members: list[int], pairs: tuple[Indices, Indices], there: Bools) -> Bools:
    """(effects, groups, groups). `own` (effects, groups) of the members."""
    own = own.copy()
    own[:, 0] = False
    found = own[:, :, None] | own[:, None, :]
    group = np.zeros(max([0, *members, *pairs[0], *pairs[1]]) + 1, dtype=np.intp)
    group[members[1:]] = np.arange(1, len(members))
    a, b = group[pairs[0]], group[pairs[1]]
    here = (a > 0) & (b > 0)
    found[:, a[here], b[here]] = found[:, b[here], a[here]] = there[:, here]
    return found
