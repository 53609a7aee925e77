"""How the signal chain stands: for each link whether the answers prove it good, leave it in doubt, or point at it.

Two numbers say so. `fault` is how many faults are expected to start at the link, as the belief has it; two at one
link are rare, so it is the chance that one does. It falls at every link as soon as one fault explains everything,
which proves nothing of the others: nobody looked at them. So a link is good only by `speaks`: how many times more
probable the answers are with a fault there as well than without it. That is 1 where nothing seen bears on the link,
or where what is broken hides it, and small where it was seen to work.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.core.course import evidence_weight
from diagnose.core.findings import slip_of
from diagnose.core.network import Floats, Network
from diagnose.core.posterior import Belief
from diagnose.core.reason import Conclusion
from diagnose.model.settings import Settings
from diagnose.model.visit import Observation

State = Literal["good", "doubt", "broken", "unknown"]
PROVED = 0.2  # at most this factor, tempered as it is: at face value about a tenth; judgement
GOOD_BELOW = 0.1  # and no more chance of a fault than this, whatever speaks
DOUBT_FROM = 0.25  # one fault in four; judgement
RISEN, RISEN_TO = 2.0, 0.1  # or twice the chance it had, and one worth looking at; judgement


@dataclass(frozen=True, slots=True)
class Standing:
    """One link: `before`: the chance of a fault there by the complaint alone, `fault`: now; see above."""

    before: float
    fault: float
    speaks: float
    state: State


def standing_of(settings: Settings, conclusion: Conclusion, complaint: str) -> dict[str, Standing]:
    """The links at which some fault can start, by their ids; nothing is known of any before something was seen."""
    belief, seen = conclusion.belief, conclusion.seen
    network = belief.network
    start = network.odds * network.presenting.get(complaint, 1.0)
    start /= start[1:].sum()
    before, fault = at_links(network, start), at_links(network, belief.columns)
    speaks = np.exp(_speaks(network, seen, settings, _hiding(belief, fault, settings)))
    shown, found = at_links(network, start * speaks), dict[str, Standing]()
    for link in (link for link, p in before.items() if link and p):
        numbers = before[link], fault[link], shown[link] / before[link]
        found[link] = Standing(*numbers, state_of(*numbers, settings.conclude_at) if seen else "unknown")
    return found


def at_links(network: Network, columns: Floats) -> dict[str, float]:
    """(n+1,) by column -> summed by the link at which the fault of a column starts; '' for those at none."""
    found = dict.fromkeys(network.begins, 0.0)
    for link, value in zip(network.begins, columns[1:].tolist(), strict=False):
        found[link] += value
    return found


def state_of(before: float, fault: float, speaks: float, broken_from: float) -> State:
    """`broken_from` is the chance from which the visit concludes."""
    if fault >= broken_from:
        return "broken"
    if speaks <= PROVED and fault <= GOOD_BELOW:
        return "good"
    return "doubt" if fault >= DOUBT_FROM or fault >= max(RISEN_TO, RISEN * before) else "unknown"


def _hiding(belief: Belief, fault: Mapping[str, float], settings: Settings) -> int:
    """The likeliest column at a link that is broken, 0 where none is."""
    broken = {link for link, p in fault.items() if link and p >= settings.conclude_at}
    return int(np.argmax([0.0, *(belief.columns[1:] * [link in broken for link in belief.network.begins])]))


def _speaks(network: Network, seen: Sequence[Observation], settings: Settings, beside: int) -> Floats:
    """(n+1,): ln of how many times more probable what was seen is with each column beside one than without it."""
    total = np.zeros(len(network.odds))
    for observation in seen:
        table = network.tables[observation.finding]
        weight = evidence_weight(table, observation.state, slip_of(settings, observation))
        step = (weight - np.append(weight[1:], 0.0)) * table.leak
        group = int(table.groups[beside])
        together = np.log(step @ table.both[:, group, :])
        total += network.temper * (together - together[0])[table.groups]
    return total
