"""Chance that hangs on names alone: every name under a seed has numbers of its own.

So a check or a cause more changes nothing of what is drawn for the others.
"""

from collections.abc import Mapping
from hashlib import blake2b
from math import log1p

import numpy as np

Name = int | str


def key(*names: Name) -> int:
    """64 bits that the names decide, the same on every machine."""
    return int.from_bytes(blake2b("\0".join(map(str, names)).encode(), digest_size=8).digest(), "big")


def share(*names: Name) -> float:
    """A number of [0, 1), every one as likely."""
    return (key(*names) >> 11) / 2.0**53


def stream(*names: Name) -> np.random.Generator:
    """As many numbers as are wanted."""
    return np.random.default_rng(key(*names))


def drawn(weights: Mapping[str, float], *names: Name) -> str:
    """One of the words, in proportion to the weights: the one with the shortest exponential wait.

    A word more takes its own share of the draws and leaves all others as they were. Raises ValueError without one
    of a positive weight.
    """
    waits = {word: -log1p(-share(*names, word)) / weight for word, weight in weights.items() if weight > 0.0}
    return min(waits, key=lambda word: waits[word])
