"""Which effects are there on many tracks, alone and two at once, worked out on whole arrays.

What `chain.active` does for one track, effect by effect in the order of the chain, is done here for all together.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.core.chain import Links, Step, Track
from diagnose.core.network import Floats, Indices

Bools = NDArray[np.bool_]


def there_alone(links: Links, tracks: Sequence[Track]) -> Bools:
    """(effects, tracks): in the order of the chain, whether each effect is there on each track."""
    on = _on(links, tracks, lambda has: has.copy())
    nowhere = np.zeros(len(tracks), dtype=bool)
    rows = [on.get(effect, nowhere) for effect in links.order]
    return np.array(rows, dtype=bool).reshape(len(links.order), len(tracks))


@dataclass(frozen=True)
class Crossings:
    """Two tracks at once where one masks something of the other: everywhere else they only add to each other.

    `first`, `second` (p,): the tracks; `changed`, for each effect, where among them it is there though neither of the
    two has it alone, or is not there though one has.
    """

    first: Indices
    second: Indices
    changed: tuple[Indices, ...]


def crossings(links: Links, tracks: Sequence[Track], alone: Bools) -> Crossings:
    """All of them. `alone` (effects, tracks) is what `there_alone` gives."""
    touching = _masks(links, alone).T @ _passes(links, tracks) > 0
    a, b = np.nonzero(np.triu(touching | touching.T, 1))
    pairs_of = _pairs_of(a, b, len(tracks))

    def spread(has: Bools) -> Bools:
        found = np.zeros(len(a), dtype=bool)
        for track in np.flatnonzero(has).tolist():
            found[pairs_of[track]] = True
        return found

    on = _on(links, tracks, spread)
    nowhere = np.zeros(len(a), dtype=bool)
    there = (on.get(effect, nowhere) for effect in links.order)
    changed = tuple(np.flatnonzero(row != (own[a] | own[b])) for row, own in zip(there, alone, strict=True))
    return Crossings(a, b, changed)


def _pairs_of(first: Indices, second: Indices, count: int) -> list[Indices]:
    """The pairs that each of `count` tracks is in."""
    tracks = np.concatenate([first, second])
    order = np.argsort(tracks, kind="stable")
    cuts = np.searchsorted(tracks[order], np.arange(1, count))
    return np.split(order % max(len(first), 1), cuts)


def _masks(links: Links, alone: Bools) -> Floats:
    """(links, tracks): how many effects of each track block or hide each link."""
    effects, places = links.kb.effects, list(links.kb.links)
    masked = [{*effects[e].blocks, *effects[e].hides} for e in links.order]
    each = np.array([[link in of for of in masked] for link in places], dtype=np.float64)
    return np.asarray(each.reshape(len(places), len(masked)) @ alone.astype(np.float64))


def _passes(links: Links, tracks: Sequence[Track]) -> Floats:
    """(links, tracks): 1 where some effect of the track is at the link."""
    places = list(links.kb.links)
    found = np.zeros((len(places), len(tracks)))
    at = {e: places.index(effect.link) for e, effect in links.kb.effects.items()}
    for i, track in enumerate(tracks):
        found[[at[e] for e in track.starts.union(*track.steps)], i] = 1.0
    return found


def in_step(tracks: Sequence[Track]) -> Floats:
    """(tracks, tracks): by how much more often two go together than if they were independent; 0: they contradict.

    What is not certain about the chain is so for both: it is one contact with one logic, one step from an effect.
    """
    factors = np.ones((len(tracks), len(tracks)))
    for what in sorted({choice[0] for track in tracks for choice in track.choices}):
        taken = [next((c for c in track.choices if c[0] == what), None) for track in tracks]
        words = sorted({c[1] for c in taken if c})
        word = np.array([words.index(c[1]) if c else -1 for c in taken])
        chance = np.array([c[2] if c else 1.0 for c in taken])
        both = (word[:, None] >= 0) & (word[None, :] >= 0)
        factors *= np.where(both, np.where(word[:, None] == word[None, :], 1.0 / chance[:, None], 0.0), 1.0)
    return factors


def _on(links: Links, tracks: Sequence[Track], spread: Callable[[Bools], Bools]) -> dict[str, Bools]:
    """Where each effect is there; effects that are nowhere are left out."""
    on: dict[str, Bools] = {}
    nowhere = spread(np.zeros(len(tracks), dtype=bool))
    begun, into = _starting(tracks), _stepping(tracks)
    for effect in links.order:
        found = spread(begun[effect]) if effect in begun else nowhere.copy()
        for step, has in into.get(effect, ()):
            if step[0] in on:
                taken = spread(has) & on[step[0]]
                for z in _cutting(links, on, step):
                    taken &= ~on[z]
                found |= taken
        if found.any():
            for z in _hiding(links, on, effect):
                found &= ~on[z]
            on[effect] = found
    return on


def _starting(tracks: Sequence[Track]) -> dict[str, Bools]:
    """(tracks,) for each effect that some start with: which do."""
    found: dict[str, Bools] = {}
    for i, track in enumerate(tracks):
        for effect in track.starts:
            found.setdefault(effect, np.zeros(len(tracks), dtype=bool))[i] = True
    return found


def _stepping(tracks: Sequence[Track]) -> dict[str, list[tuple[Step, Bools]]]:
    """For each effect the steps that lead to it, each with (tracks,): which take it."""
    taking: dict[Step, Bools] = {}
    for i, track in enumerate(tracks):
        for step in track.steps:
            taking.setdefault(step, np.zeros(len(tracks), dtype=bool))[i] = True
    into: dict[str, list[tuple[Step, Bools]]] = {}
    for step, has in sorted(taking.items(), key=lambda item: item[0]):
        into.setdefault(step[1], []).append((step, has))
    return into


def _cutting(links: Links, on: dict[str, Bools], step: Step) -> list[str]:
    """The effects that block the step where they are there."""
    effects, place, (a, b) = links.kb.effects, links.place, step
    return [z for z in on if effects[a].link in effects[z].blocks and z not in (a, b) and place[z] <= place[b]]


def _hiding(links: Links, on: dict[str, Bools], effect: str) -> list[str]:
    """The effects that leave this one nothing to act on where they are there."""
    link = links.kb.effects[effect].link
    return [z for z in on if link in links.kb.effects[z].hides and effect not in links.reach[z]]
