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
AS_WRITTEN = "as_written"


@dataclass(frozen=True, slots=True)
class Condition:
    """`disturb` draws the disturbance of the tool's knowledge; `trouble` is what happens to answers."""

    trouble: Trouble = field(default_factory=Trouble)
    disturb: Callable[[KnowledgeBase, np.random.Generator], Disturbance] | None = None


CONDITIONS: Mapping[str, Condition] = {
    AS_WRITTEN: Condition(),
    "one_step_off": Condition(disturb=one_step),
    "noise_half": Condition(disturb=partial(log_odds_noise, deviation=0.5)),
    "noise_full": Condition(disturb=partial(log_odds_noise, deviation=1.0)),
    "snapped": Condition(disturb=snapped),
    "wrong_5": Condition(Trouble(slip=0.05)),
    "wrong_10": Condition(Trouble(slip=0.10)),
    "unknown_10": Condition(Trouble(unknown=0.10)),
    "wrong_5_unknown_10": Condition(Trouble(slip=0.05, unknown=0.10)),
    "third_barred": Condition(Trouble(barred=1 / 3)),
}
