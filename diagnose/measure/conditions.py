"""Under what the visits are simulated: as the knowledge says, with wrong answers, or with wrong knowledge.

Always this way round: the gate, its complaint and its answers are drawn from the knowledge as written; the tool
reasons with the knowledge of the condition, and does not know about wrong, missing or impossible answers.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from diagnose.measure.perturb import Disturbance, log_odds_noise, one_step, snapped
from diagnose.measure.simulate import Trouble
from diagnose.model.knowledge import KnowledgeBase

VISITS_PER_DRAW = 20  # visits that share one draw of disturbed knowledge
AS_WRITTEN = "as written"


@dataclass(frozen=True, slots=True)
class Condition:
    """`disturb` draws the disturbance of the tool's knowledge; `trouble` is what happens to answers."""

    trouble: Trouble = field(default_factory=Trouble)
    disturb: Callable[[KnowledgeBase, np.random.Generator], Disturbance] | None = None


CONDITIONS: Mapping[str, Condition] = {
    AS_WRITTEN: Condition(),
    "every word one step off at random": Condition(disturb=one_step),
    "noise of 0.5 on every log-odds": Condition(disturb=partial(log_odds_noise, deviation=0.5)),
    "noise of 1.0 on every log-odds": Condition(disturb=partial(log_odds_noise, deviation=1.0)),
    "snapped to seven points": Condition(disturb=snapped),
    "5 % of answers wrong": Condition(Trouble(slip=0.05)),
    "10 % of answers wrong": Condition(Trouble(slip=0.10)),
    "10 % unknown": Condition(Trouble(unknown=0.10)),
    "5 % wrong and 10 % unknown": Condition(Trouble(slip=0.05, unknown=0.10)),
    "a third of the checks impossible": Condition(Trouble(barred=1 / 3)),
}
