"""The examination: gates that the trainee has not seen, of kinds practised least, without coach or hints.

Passed is what somebody who mends gates alone needs: most gates by evidence, none unsafe, and not much longer than the
program's way. The bounds are the aim that practice was built for, and judgement.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.core.reason import Reasoner
from diagnose.measure.streams import key
from diagnose.practice.difficulty import NEXT_SEED
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import EXAM, EXAM_TWO, Lesson
from diagnose.practice.lessons import drawn_for, families_of
from diagnose.practice.progress import Progress, WorkedExercise

GATES = 4
NEEDED = 3  # of them passed
RATIO = 1.25  # minutes at most, to those of the program's way, over the gates that were passed


@dataclass(frozen=True, slots=True)
class Sitting:
    """One examination as far as it has come; `number` from 1."""

    trainee: str
    number: int
    gates: tuple[WorkedExercise, ...]

    @property
    def whole(self) -> bool:
        return len(self.gates) == GATES

    @property
    def good(self) -> tuple[WorkedExercise, ...]:
        """The gates that were passed."""
        return tuple(w for w in self.gates if w.passed and w.ended == "solved")

    @property
    def ratio(self) -> float:
        """Minutes to the program's, over the gates that were passed; 0 for none."""
        return sum(w.minutes for w in self.good) / max(sum(w.best for w in self.good), 1.0)

    @property
    def safe(self) -> bool:
        return all(w.ended != "unsafe" for w in self.gates)

    @property
    def passed(self) -> bool:
        return self.whole and self.safe and len(self.good) >= NEEDED and self.ratio <= RATIO


def sittings(progress: Progress) -> tuple[Sitting, ...]:
    """Every examination of the trainee, oldest first; the last one may not be whole."""
    gates = [w for w in progress.worked if w.lesson == EXAM.id]
    parts = [tuple(gates[at : at + GATES]) for at in range(0, len(gates), GATES)]
    return tuple(Sitting(progress.trainee, number, part) for number, part in enumerate(parts, start=1))


def next_gate(progress: Progress) -> int:
    """Which gate of an examination comes next, from 1."""
    return sum(w.lesson == EXAM.id for w in progress.worked) % GATES + 1


def exam_gate(reasoner: Reasoner, progress: Progress, seed: int | None = None) -> tuple[Lesson, Gate]:
    """The gate that comes next. Whoever leaves it untouched gets the same again. A seed gives everybody the same
    gates. Raises DiagnoseError."""
    number = next_gate(progress)
    lesson = EXAM_TWO if number == GATES else EXAM
    sat = sum(w.lesson == EXAM.id for w in progress.worked)
    base = key(progress.trainee.casefold(), sat // GATES) if seed is None else seed
    family = unseen(progress, tuple(families_of(reasoner.kb)), number, base) if seed is None else ""
    return lesson, drawn_for(reasoner, progress, lesson, key(base, number) % NEXT_SEED, family)


def unseen(progress: Progress, families: Sequence[str], number: int, base: int) -> str:
    """The family of that gate: one that this examination has not had, practised as little as any; equals by the
    seed."""
    had = [f for w in progress.worked if w.lesson == EXAM.id for f in w.families][-2 * number :] if number > 1 else []
    practised = {f: sum(f in w.families for w in progress.worked if w.lesson != EXAM.id) for f in families}
    return min(families, key=lambda f: (f in had, practised[f], key(base, f)))
