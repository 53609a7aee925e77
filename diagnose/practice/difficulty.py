"""How hard a gate is: how long the best policy needs, and how misleading its first evidence is.

    difficulty = minutes of the best policy / 60  +  decibans of misleading / 10

Misleading: by how much the strongest false suspect outweighs the strongest true cause after the first three
observations of the best policy (0 when a true cause leads). Both scales are judgement: an hour of work
counts as much as evidence that is ten to one against the truth. The bounds of the levels are the thirds measured
on 90 single-fault gates of the shipped knowledge.
"""

import math
from dataclasses import dataclass
from typing import Literal

from diagnose.core.reason import Reasoner
from diagnose.model.visit import Setup
from diagnose.practice.exercise import begin, best_from
from diagnose.practice.gate import Gate, ImpossibleGate, WantedGate, draw_gate
from diagnose.practice.moves import CheckMove
from diagnose.session.state import Session

Level = Literal["easy", "medium", "hard"]
EASY_BELOW, HARD_FROM = 1.35, 2.65
FIRST = 3
TRIES = 25
NEXT_SEED = 100_000  # tries of one seed never meet those of another


@dataclass(frozen=True, slots=True)
class Difficulty:
    """`minutes` of the best policy, `checks` it asks, `misleading` in decibans; `mended`: it needs no specialist."""

    minutes: float
    checks: int
    misleading: float
    mended: bool = True

    @property
    def value(self) -> float:
        return self.minutes / 60.0 + self.misleading / 10.0

    @property
    def level(self) -> Level:
        return "easy" if self.value < EASY_BELOW else "hard" if self.value >= HARD_FROM else "medium"


def difficulty(reasoner: Reasoner, gate: Gate) -> Difficulty:
    """Measured by working the gate with the best policy."""
    path = best_from(reasoner, begin(reasoner, gate))
    looks = sum(isinstance(done.move, CheckMove) for done in path.done)
    return Difficulty(path.minutes, looks, misleading(reasoner, gate, path.session), not path.gate.truth)


def misleading(reasoner: Reasoner, gate: Gate, session: Session) -> float:
    """Decibans by which a false suspect leads the truth after the first observations of the visit."""
    answers = session.attempts[0].answers if session.attempts else session.answers
    path = reasoner.conclude(gate.setup, gate.complaint, answers).path
    belief = path[min(FIRST, len(path) - 1)]
    true = max(belief.probability(c) for c in gate.truth)
    false = max(p for c, p in belief.ranked() if c not in gate.truth)
    return max(0.0, 10.0 * math.log10(false / max(true, 1e-12)))


def draw_level(
    reasoner: Reasoner, setup: Setup, wanted: WantedGate, level: Level | None, seed: int
) -> tuple[Gate, Difficulty]:
    """The first gate of this level among those of the seed that the best policy can mend; the nearest one when none
    of the tries has it. Faults that do not go together are left for others. Raises DiagnoseError."""
    tried, failed = list[tuple[Gate, Difficulty]](), ImpossibleGate()
    for attempt in range(TRIES):
        try:
            gate = draw_gate(reasoner, setup, wanted, seed + attempt * NEXT_SEED)
        except ImpossibleGate as error:
            failed = error
            continue
        tried.append((gate, difficulty(reasoner, gate)))
        if tried[-1][1].mended and level in (None, tried[-1][1].level):
            return tried[-1]
    if not tried:
        raise failed
    wish = {"easy": 0.0, "medium": (EASY_BELOW + HARD_FROM) / 2, "hard": 1e3}[level or "easy"]
    return min(tried, key=lambda t: (not t[1].mended, abs(wish - t[1].value)))
