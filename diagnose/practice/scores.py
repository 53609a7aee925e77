"""How good stated probabilities were. Brier (1950); Murphy (1973) splits the score into its three parts."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.core.posterior import Belief
from diagnose.practice.moves import Beliefs


@dataclass(frozen=True, slots=True)
class Parts:
    """BS = reliability - resolution + uncertainty."""

    reliability: float
    resolution: float
    uncertainty: float


def brier(said: Sequence[float], happened: Sequence[float]) -> float:
    """Mean squared difference (Brier 1950, binary form); 0 is perfect, 0.25 is 'fifty-fifty' on everything.

    `happened` may hold probabilities: then it is the distance from those. Raises ValueError for no statement.
    """
    if not said:
        raise ValueError(said)
    return sum((f - y) ** 2 for f, y in zip(said, happened, strict=True)) / len(said)


def murphy(said: Sequence[float], happened: Sequence[float]) -> Parts:
    """The parts of the Brier score over the distinct values that were said."""
    groups: dict[float, list[float]] = defaultdict(list)
    for f, y in zip(said, happened, strict=True):
        groups[f].append(y)
    total, base = len(said), sum(happened) / len(said)
    rates = {f: sum(ys) / len(ys) for f, ys in groups.items()}
    reliability = sum(len(ys) * (f - rates[f]) ** 2 for f, ys in groups.items()) / total
    resolution = sum(len(ys) * (rates[f] - base) ** 2 for f, ys in groups.items()) / total
    return Parts(reliability, resolution, base * (1.0 - base))


def against_posterior(beliefs: Beliefs, belief: Belief) -> float | None:
    """Brier distance of what the trainee states from the exact posterior; None when nothing was stated.

    The leading causes the trainee left out count as stated at nought: leaving the likely one out is an error too.
    """
    said = dict(beliefs)
    if not said:
        return None
    shown = {**dict(belief.ranked()[: len(said)]), **{c: _probability(belief, c) for c in said}}
    return brier([said.get(c, 0.0) for c in shown], list(shown.values()))


def against_truth(beliefs: Beliefs, truth: Sequence[str]) -> float | None:
    """Brier score of the stated causes against what the gate really has."""
    return brier([p for _, p in beliefs], [float(c in truth) for c, _ in beliefs]) if beliefs else None


def _probability(belief: Belief, cause: str) -> float:
    return belief.probability(cause) if cause in belief.network.causes else 0.0
