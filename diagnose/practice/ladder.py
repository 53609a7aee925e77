"""Lessons from one plain fault to two that come and go; a trainee climbs when the next ones will likely go well."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.difficulty import Level
from diagnose.practice.gate import WantedGate
from diagnose.practice.mastery import Mastery, at_least
from diagnose.words import say

WINS, OF, LIKELY = 4, 5, 0.65  # climb when 4 of the next 5 will go well with this probability; judgement


@dataclass(frozen=True, slots=True)
class Lesson:
    """`hints`: the strongest hint there is; they fade as the ladder goes up. `title`: of a trainer's own case."""

    id: str
    faults: int
    level: Level | None
    hints: int
    comes_and_goes: bool = False
    title: str = ""

    @property
    def says(self) -> str:
        """Its own title, or what this rung of the ladder is called."""
        return self.title or say(f"practice.lesson_{self.id}")

    def wanted(self, kb: KnowledgeBase, family: str = "") -> WantedGate:
        """The gate of this lesson, in a family or any."""
        fitting = (c.id for c in kb.complaints.values() if c.comes_and_goes and self.comes_and_goes)
        return WantedGate(self.faults, family, tuple(fitting))


LADDER = (
    Lesson("first_steps", 1, "easy", 3),
    Lesson("longer_way", 1, "medium", 3),
    Lesson("misleading", 1, "hard", 2),
    Lesson("comes_and_goes", 1, None, 2, True),
    Lesson("two_faults", 2, None, 1),
    Lesson("two_intermittent", 2, "hard", 0, True),
)


def ready(mastery: Mastery) -> bool:
    """Whether a lesson is mastered well enough for the next."""
    return at_least(WINS, OF, mastery) >= LIKELY


def lesson_for(lessons: Mapping[str, Mastery]) -> Lesson:
    """The first lesson that is not mastered yet; the last one when all are."""
    return next((x for x in LADDER if not ready(lessons.get(x.id, Mastery()))), LADDER[-1])
