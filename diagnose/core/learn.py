"""Confirmed outcomes -> how often each cause turns up.

For a cause c let N be the confirmed visits to sites where it could have been the cause, E how many of them the
expert's shares would give it, and k how many it was. Its weight is the expert's, times

    (s + N k/E) / (s + N)

where s, the strength, is how many visits the expert's word is worth. Among sites of one device family E/N is
the expert's share m, and the share learned is (s m + k) / (s + N): the mean of a Dirichlet whose parameters are
s times the expert's shares, plus the counts (Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.4; from
memory). A cause that several families share is pooled over them, each visit judged by its own family's share.

A visit is one vote: m causes confirmed on it count 1/m each, so that a muddled visit does not weigh more than a
clear one. Counts are the only evidence here; which findings showed is not learned.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import fsum

from diagnose.core.compile import applicable
from diagnose.errors import CalculationError
from diagnose.model.history import Confirmed
from diagnose.model.knowledge import KnowledgeBase

STRENGTH = 50.0  # visits; judgement
FLOOR = 0.1  # of the expert's weight: however often a cause did not turn up, it may the next time; judgement
Devices = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Learned:
    """What a history teaches: the same confirmed visits in any order give the same numbers to the last bit.

    `weights` is on the scale of scales.frequency, for every cause of the knowledge; `counts` and `expected` are
    k and E above. `outcomes` visits were counted, `left_out` not: their causes are no longer in the knowledge
    or do not go with the sensors of the site. `digest` identifies the visits counted, `knowledge` the knowledge.
    """

    weights: Mapping[str, float]
    counts: Mapping[str, float]
    expected: Mapping[str, float]
    outcomes: int
    left_out: tuple[str, ...]
    strength: float
    floor: float
    digest: str
    knowledge: str


@dataclass(frozen=True, slots=True)
class ShareChange:
    """One cause's share among the causes of some sensors, as the expert has it and as learned."""

    cause: str
    count: float
    expected: float
    before: float
    after: float


def learn(
    kb: KnowledgeBase, outcomes: Iterable[Confirmed], strength: float = STRENGTH, floor: float = FLOOR
) -> Learned:
    """Weights of the causes after the confirmed outcomes, one per visit.

    `strength` in visits, > 0; 0 < `floor` < 1. Raises CalculationError at other values.
    """
    if strength <= 0.0 or not 0.0 < floor < 1.0:
        raise CalculationError("strength must be above 0, floor between 0 and 1")
    everything = sorted({_normal(o) for o in outcomes})
    used = [o for o in everything if _usable(kb, o)]
    counts = _counts(kb, used)
    visits, expected = _chances(kb, Counter(o.devices for o in used))
    weights = {
        c: frequency(kb, c) * max(floor, _ratio(counts[c], expected[c], visits[c], strength)) for c in kb.causes
    }
    left_out = tuple(o.visit for o in everything if not _usable(kb, o))
    return Learned(weights, counts, expected, len(used), left_out, strength, floor, _digest(used), kb.digest)


def changes(kb: KnowledgeBase, learned: Learned, devices: Devices = ()) -> tuple[ShareChange, ...]:
    """Before and after for every cause that concerns these sensors (() = all), the largest change of share first."""
    concerned = [c.id for c in kb.causes.values() if applicable(c, devices)]
    before, after = fsum(frequency(kb, c) for c in concerned), fsum(learned.weights[c] for c in concerned)
    found = [
        ShareChange(c, learned.counts[c], learned.expected[c], frequency(kb, c) / before, learned.weights[c] / after)
        for c in concerned
    ]
    return tuple(sorted(found, key=lambda x: (-abs(x.after - x.before), x.cause)))


def frequency(kb: KnowledgeBase, cause: str) -> float:
    """The expert's weight of a cause."""
    return kb.scales.frequency[kb.causes[cause].common]


def _normal(outcome: Confirmed) -> Confirmed:
    return Confirmed(outcome.visit, tuple(sorted(set(outcome.devices))), tuple(sorted(set(outcome.causes))))


def _usable(kb: KnowledgeBase, outcome: Confirmed) -> bool:
    known = [kb.causes[c] for c in outcome.causes if c in kb.causes]
    return bool(outcome.causes) and sum(applicable(c, outcome.devices) for c in known) == len(outcome.causes)


def _counts(kb: KnowledgeBase, outcomes: Iterable[Confirmed]) -> Mapping[str, float]:
    """Votes per cause, 0 where there is none."""
    votes: dict[str, list[float]] = {c: [] for c in kb.causes}
    for outcome in outcomes:
        for cause in outcome.causes:
            votes[cause].append(1.0 / len(outcome.causes))
    return {c: fsum(v) for c, v in votes.items()}


def _chances(kb: KnowledgeBase, sites: Mapping[Devices, int]) -> tuple[Mapping[str, int], Mapping[str, float]]:
    """Per cause: visits where it could have been the cause, and how many of them the expert gives it."""
    visits: Counter[str] = Counter()
    parts: dict[str, list[float]] = {c: [] for c in kb.causes}
    for devices, number in sites.items():
        concerned = [c.id for c in kb.causes.values() if applicable(c, devices)]
        total = fsum(frequency(kb, c) for c in concerned)
        for cause in concerned:
            visits[cause] += number
            parts[cause].append(number * frequency(kb, cause) / total)
    return visits, {c: fsum(p) for c, p in parts.items()}


def _ratio(count: float, expected: float, visits: int, strength: float) -> float:
    return (strength + visits * count / expected) / (strength + visits) if visits else 1.0


def _digest(outcomes: Iterable[Confirmed]) -> str:
    plain = [[o.visit, o.devices, o.causes] for o in outcomes]
    return hashlib.sha256(json.dumps(plain, separators=(",", ":")).encode()).hexdigest()[:16]
