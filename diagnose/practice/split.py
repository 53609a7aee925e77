"""Half-splitting: how well a look parts the links at which the fault may still start.

What a finding tells about the link is its mutual information with it, in bits: 1 is a perfect half, whatever it says
about the single causes within a link. This number is not shown; the trainee hears whether the look parted well.
"""

from dataclasses import dataclass

import numpy as np

from diagnose.core.network import Floats
from diagnose.core.policy import Option
from diagnose.core.posterior import Belief
from diagnose.core.reason import Conclusion

OPEN_BITS = 1.0  # with less left open than two links that are alike there is nothing to halve
WELL = 0.5  # of what the best look for no more minutes would have parted; judgement


@dataclass(frozen=True, slots=True)
class Split:
    """`told`: bits about the link that the look promised; `best`: of the best look for no more minutes, `by` it."""

    told: float
    best: float
    by: str

    @property
    def well(self) -> bool:
        return self.told >= WELL * self.best


def split_of(conclusion: Conclusion, check: str, opening: tuple[str, ...] = ()) -> Split | None:
    """How well a check parts what is open; None where too little is open, or it is no look of that sort.

    `opening` are the questions that come first at every gate.
    """
    belief = conclusion.belief
    chosen = next((o for o in conclusion.ahead.options if o.check == check), None)
    if chosen is None or check in opening or _bits(_shares(belief).sum(axis=1)) < OPEN_BITS:
        return None
    rivals = [o for o in conclusion.ahead.options if _cost(o) <= _cost(chosen) and o.check not in opening]
    best, by = max((parted(belief, o.finding), o.check) for o in rivals)
    return Split(parted(belief, chosen.finding), best, by)


def _cost(option: Option) -> float:
    return option.own + option.opening


def parted(belief: Belief, finding: str) -> float:
    """Bits that the finding will tell about the link at which the fault starts."""
    table = belief.network.tables[finding]
    shown = np.diff(table.leak[:, None] * table.cumulative[:, 1:], axis=0, prepend=0.0)  # (K, n) by column alone
    together = _shares(belief) @ shown.T  # (links, K)
    return max(0.0, _bits(together.sum(axis=1)) + _bits(together.sum(axis=0)) - _bits(together))


def _shares(belief: Belief) -> Floats:
    """(links, n): the share of each column in what is expected to be wrong, in the row of the link it starts at."""
    begins, share = belief.network.begins, belief.columns[1:] / belief.columns[1:].sum()
    links = {link: row for row, link in enumerate(dict.fromkeys(begins))}
    rows = np.zeros((len(links), len(share)))
    rows[[links[link] for link in begins], np.arange(len(share))] = share
    return rows


def _bits(shares: Floats) -> float:
    known = shares[shares > 0.0]
    return float(-np.sum(known * np.log2(known)))
