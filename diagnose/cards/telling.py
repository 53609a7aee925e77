"""Which looks go on a points sheet: those that tell the columns apart best together, and the look that parts two.

Paper is what is short: a look with a dozen answers takes the place of four with three.
"""

from collections.abc import Collection, Sequence

import numpy as np

from diagnose.cards.weigh import Weighed
from diagnose.core.network import Floats
from diagnose.measure.streams import stream

LOOKS = 12
ROOM, LEAST_LINES = 38, 3  # lines of the table; a look takes one for each answer, and so many at least
DRAWN = 600  # gates that stand for all in reckoning what a look adds
LEAST_BITS = 0.05  # of one for telling two causes apart; less is no test


def telling(weighed: Weighed, among: Sequence[str], most: int = LOOKS, room: int = ROOM) -> list[str]:
    """Findings, one after the other the one that tells most for each line of paper, given those already there.

    What it would tell is the mean over gates drawn from the printed causes, each with what it shows of the findings
    chosen so far. Where one has more answers than there is room for, the next best is taken.
    """
    prior = weighed.prior[: len(weighed.causes)]
    belief = np.tile(prior / prior.sum(), (DRAWN, 1))
    truth = np.searchsorted(np.cumsum(belief[0]), stream("points", "cause").random(DRAWN)).clip(0, len(prior) - 1)
    chosen: list[str] = []
    while len(chosen) < most:
        left = [f for f in among if f in weighed.chances and f not in chosen and _lines(weighed, f) <= room]
        if not left:
            break
        best = max(left, key=lambda f: (bits(belief, _shown(weighed, f)) / _lines(weighed, f), f))
        chosen.append(best)
        room -= _lines(weighed, best)
        belief = _seen(belief, _shown(weighed, best), truth, best)
    return chosen


def bits(belief: Floats, shown: Floats) -> float:
    """Expected information in an answer, in bits: the mean over the rows of `belief`. `shown` is (causes, states)."""
    expected = belief @ shown
    whole = -(expected * np.log2(expected)).sum(axis=1)
    inside = belief @ -(shown * np.log2(shown)).sum(axis=1)
    return float((whole - inside).mean())


def parting(weighed: Weighed, among: Collection[str], pair: Sequence[int]) -> str:
    """The finding that best parts two columns, '' where none does."""
    even = np.full((1, 2), 0.5)
    told = {f: bits(even, weighed.chances[f][list(pair)]) for f in among if f in weighed.chances}
    best = max(told, key=lambda f: (told[f], f), default="")
    return best if best and told[best] >= LEAST_BITS else ""


def _shown(weighed: Weighed, finding: str) -> Floats:
    return weighed.chances[finding][: len(weighed.causes)]


def _lines(weighed: Weighed, finding: str) -> int:
    return max(LEAST_LINES, int(weighed.chances[finding].shape[1]))


def _seen(belief: Floats, shown: Floats, truth: np.ndarray, finding: str) -> Floats:
    """The belief of every drawn gate after what it shows."""
    below = np.cumsum(shown[truth], axis=1)
    chance = stream("points", finding).random(len(truth))[:, None]
    state = (chance >= below).sum(axis=1).clip(0, shown.shape[1] - 1)
    after = belief * shown[:, state].T
    return np.asarray(after / after.sum(axis=1, keepdims=True))
