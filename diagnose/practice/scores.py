"""How good stated probabilities were: Brier (1950)."""

from collections.abc import Sequence

from diagnose.core.posterior import Belief
from diagnose.practice.moves import Beliefs


def brier(said: Sequence[float], happened: Sequence[float]) -> float:
    """Mean squared difference (Brier 1950, binary form); 0 is perfect, 0.25 is 'fifty-fifty' on everything.

    `happened` may hold probabilities: then it is the distance from those. Raises ValueError for no statement.
    """
    if not said:
        raise ValueError(said)
    return sum((f - y) ** 2 for f, y in zip(said, happened, strict=True)) / len(said)


def against_posterior(beliefs: Beliefs, belief: Belief) -> float | None:
    """Brier distance of what the trainee states from the exact posterior; None when nothing was stated.

    The leading causes the trainee left out count as stated at nought: leaving the likely one out is an error too.
    """
    said = dict(beliefs)
    if not said:
        return None
    shown = {**dict(belief.ranked()[: len(said)]), **{c: _probability(belief, c) for c in said}}
    return brier([said.get(c, 0.0) for c in shown], list(shown.values()))


def _probability(belief: Belief, cause: str) -> float:
    return belief.probability(cause) if cause in belief.network.causes else 0.0
