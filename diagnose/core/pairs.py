"""Which effects are there on many tracks, alone and two at once, worked out on whole arrays.

What `chain.active` does for one track, effect by effect in the order of the chain, is done here for all together.
"""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.core.chain import Links, Step, Track
from diagnose.core.network import Floats

Bools = NDArray[np.bool_]


def there_alone(links: Links, tracks: Sequence[Track]) -> Bools:
    """(effects, tracks): in the order of the chain, whether each effect is there on each track."""
    return _there(links, tracks, lambda has: has)


def there_together(links: Links, tracks: Sequence[Track]) -> Bools:
    """(effects, tracks, tracks): whether each effect is there when two tracks are at once."""
    return _there(links, tracks, lambda has: np.asarray(has[:, None] | has[None, :]))


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


def _there(links: Links, tracks: Sequence[Track], spread: Callable[[Bools], Bools]) -> Bools:
    on: dict[str, Bools] = {}
    nowhere = spread(np.zeros(len(tracks), dtype=bool))
    begun, into = _starting(tracks), _stepping(tracks)
    for effect in links.order:
        found = spread(begun[effect]) if effect in begun else nowhere.copy()
        for step, has in into.get(effect, ()):
            taken = spread(has) & on.get(step[0], nowhere)
            for z in _cutting(links, on, step):
                taken &= ~on[z]
            found |= taken
        for z in _hiding(links, on, effect):
            found &= ~on[z]
        if found.any():
            on[effect] = found
    all_of_them = [on.get(effect, nowhere) for effect in links.order]
    return np.array(all_of_them, dtype=bool).reshape(len(links.order), *nowhere.shape)


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
