"""Which lesson comes next: up after two that went well, down after one that did not, and lower ones again between.

- Order: by how hard the lessons have proved, for all who practised here; before there are enough exercises, by how
  hard the knowledge makes them (`prior`).
- Up and down: a transformed up-down staircase, two up and one down, settles where 71 % of the exercises go well
  (Levitt 1971).
- Mixed: every third exercise is one of a lower lesson; kinds that alternate are kept longer than kinds in a row
  (Rohrer and Taylor 2007).
- Spaced: a lesson or family that went well comes back after 2, 4, 8 ... days (expanding retrieval, Landauer and Bjork
  1978); see Mastery.due.
"""

from collections.abc import Iterable, Sequence

from diagnose.practice.difficulty import EASY_BELOW, HARD_FROM
from diagnose.practice.ladder import LADDER, Lesson
from diagnose.practice.mastery import Mastery
from diagnose.practice.progress import Progress, WorkedExercise

UP = 2  # exercises in a row that go well lead one lesson up
EVERY = 3  # one of so many exercises repeats a lower lesson
WELL = 60.0  # points from which a passed exercise went well; judgement
WEIGHT = 8.0  # exercises that the prior of a lesson counts as; judgement


def went_well(done: WorkedExercise) -> bool:
    return done.passed and done.ended == "solved" and done.score >= WELL


def prior(lesson: Lesson) -> float:
    """The share that will not go well, by how hard gates of the lesson's level are: a half at middling ones. Two
    faults are twice the work, and what comes and goes is looked for twice."""
    middle = (EASY_BELOW + HARD_FROM) / 2
    value = {"easy": EASY_BELOW / 2, "hard": HARD_FROM + EASY_BELOW / 2}.get(lesson.level or "", middle)
    value *= lesson.faults * (1 + lesson.comes_and_goes)
    return value / (value + middle)


def hardness(lesson: Lesson, group: Iterable[Progress]) -> float:
    """The share of exercises of a lesson that do not go well, 0..1: the prior, and what was seen."""
    seen = [not went_well(w) for p in group for w in p.worked if w.lesson == lesson.id]
    return (WEIGHT * prior(lesson) + sum(seen)) / (WEIGHT + len(seen))


def ordered(group: Sequence[Progress] = ()) -> tuple[Lesson, ...]:
    """The ladder, easiest first."""
    return tuple(sorted(LADDER, key=lambda lesson: hardness(lesson, group)))


def climbed(worked: Iterable[WorkedExercise], ladder: Sequence[Lesson]) -> tuple[int, int]:
    """(place, how many there went well in a row): where these exercises have led. The place after the last one
    means that nothing is left to climb."""
    places = {lesson.id: place for place, lesson in enumerate(ladder)}
    at, row = 0, 0
    for done in worked:
        place = places.get(done.lesson, -1)
        if place < min(at, len(ladder) - 1):
            continue  # a repeated lesson, or none of the ladder
        row = row + 1 if went_well(done) else 0
        if row == UP:
            at, row = min(place + 1, len(ladder)), 0
        elif not row:
            at = max(0, min(at, len(ladder) - 1) - 1)
    return at, row


def lesson_due(progress: Progress, day: int, group: Sequence[Progress] = ()) -> Lesson:
    """What the trainee works on next; `group`: all who practise here, by whose exercises the ladder is ordered."""
    ladder = ordered(group)
    at = min(climbed(progress.worked, ladder)[0], len(ladder) - 1)
    on_ladder = sum(w.lesson in {x.id for x in ladder} for w in progress.worked)
    if at and on_ladder % EVERY == EVERY - 1:
        again = min(ladder[:at], key=lambda lesson: progress.lessons.get(lesson.id, Mastery()).due())
        if progress.lessons.get(again.id, Mastery()).due() <= day or at == len(ladder) - 1:
            return again
    return ladder[at]


def at_the_top(progress: Progress, group: Sequence[Progress] = ()) -> bool:
    """Whether the ladder is climbed, so that the examination comes next."""
    ladder = ordered(group)
    return climbed(progress.worked, ladder)[0] == len(ladder)
