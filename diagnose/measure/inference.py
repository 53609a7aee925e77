"""Whether the posterior itself is calibrated: many faults, a handful of random answers each, no policy in between.

Exact inference is calibrated under its own model, so anything but chance is a mistake in the program. Thousands of
cases take a minute, which whole visits do not.
"""

from collections.abc import Iterator

from diagnose.core.network import Network
from diagnose.core.posterior import absorb, prior
from diagnose.measure.simulate import draw_case
from diagnose.measure.streams import key, stream
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Observation

CASES, ANSWERS = 5000, 15
Stated = tuple[float, bool]  # probability of the leading cause, and whether it is there


def stated(kb: KnowledgeBase, network: Network, seed: int, cases: int = CASES) -> Iterator[Stated]:
    """After the complaint and up to ANSWERS random findings of each case, wrong as often as the knowledge says."""
    names = [t.id for t in network.tables.values() if len(t.touched)]
    for number in range(cases):
        case = draw_case(network, kb, key(seed, number))
        belief = prior(network, case.complaint)
        for name in stream(case.seed, "asked").choice(names, min(ANSWERS, len(names)), replace=False):
            belief = absorb(belief, Observation(str(name), case.states[str(name)]), kb.settings.slip)
        cause, probability = belief.ranked()[0]
        yield probability, cause in case.truth
