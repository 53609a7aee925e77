"""Lessons from one plain fault to two that come and go; `climb` says which is due."""

from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.difficulty import Level
from diagnose.practice.gate import WantedGate
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Lesson:
    """`hints`: the strongest hint there is; they fade as the ladder goes up. `title`: of a trainer's own case.
    `leads`: findings that look wrong and are not, which the lesson is about.
    `aided`: with a coach."""

    id: str
    faults: int
    level: Level | None
    hints: int
    comes_and_goes: bool = False
    title: str = ""
    leads: int = 0
    aided: bool = True

    @property
    def says(self) -> str:
        """Its own title, or what this rung of the ladder is called."""
        return self.title or say(f"practice.lesson_{self.id}")

    def wanted(self, kb: KnowledgeBase, family: str = "") -> WantedGate:
        """The gate of this lesson, in a family or any."""
        fitting = (c.id for c in kb.complaints.values() if c.comes_and_goes and self.comes_and_goes)
        return WantedGate(self.faults, family, tuple(fitting), self.leads)


LADDER = (
    Lesson("first_steps", 1, "easy", 3),
    Lesson("longer_way", 1, "medium", 3),
    Lesson("misleading", 1, "hard", 2, leads=2),
    Lesson("comes_and_goes", 1, None, 2, True),
    Lesson("two_faults", 2, None, 1),
    Lesson("two_intermittent", 2, "hard", 0, True),
)

EXAM = Lesson("exam", 1, None, 0, aided=False)
EXAM_TWO = Lesson("exam", 2, None, 0, aided=False)  # its last gate hides two faults
AGAIN = Lesson("again", 1, None, 3)  # a gate that somebody worked before; it counts for no rung
HALF = Lesson("half_worked", 1, None, 3)  # the gate at the end of the first lesson; it counts for nothing
