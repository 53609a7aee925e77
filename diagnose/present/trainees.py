"""How far trainees have come: what each masters, with the uncertainty, and what is due."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from diagnose.practice.climb import EVERY, UP, at_the_top, lesson_due
from diagnose.practice.ladder import LADDER
from diagnose.practice.mastery import Mastery, next_family
from diagnose.practice.progress import Progress, WorkedExercise
from diagnose.present.debrief import slips_says
from diagnose.present.figures import percent
from diagnose.words import say

MOST_SLIPS = 3
BLOCK = 4  # exercises that a trend takes together


@dataclass(frozen=True, slots=True)
class Skill:
    """One family of causes: its name, how well it goes, what is known of it in words, when it should come back."""

    says: str
    mastery: Mastery
    told: str
    due: str


@dataclass(frozen=True, slots=True)
class Trainee:
    """`summary` is one line for the trainer; then skills, lessons worked, slips made most, and what comes next.
    `splits`: how often looks halve what is open, '' where none was made; `trend`: minutes to the program's, exercises
    in blocks, '' for none. `rule`: how the ladder is climbed."""

    title: str
    summary: str
    skills: tuple[Skill, ...]
    lessons: tuple[str, ...]
    slips: tuple[str, ...]
    splits: str
    trend: str
    rule: str
    next: str


def trainee_of(progress: Progress, families: Mapping[str, str], day: int, group: Sequence[Progress] = ()) -> Trainee:
    """`families` with what each is called; `day` is today's number; `group` are all who practise here."""
    due = next_family(progress.families, tuple(families), day)
    return Trainee(
        title=say("practice.mastery_of", name=progress.trainee),
        summary=_summary(progress, day, group),
        skills=tuple(_skill(says, progress.families.get(f, Mastery()), day) for f, says in families.items()),
        lessons=tuple(_lessons(progress)),
        slips=tuple(slips_says(kind, count) for kind, count in progress.slips().most_common(MOST_SLIPS)),
        splits=_splits(progress),
        trend=trend_says(progress.worked),
        rule=say("practice.ladder_rule", up=UP, every=EVERY),
        next=_next(progress, families[due], day, group),
    )


def _next(progress: Progress, part: str, day: int, group: Sequence[Progress]) -> str:
    if at_the_top(progress, group):
        return say("practice.exam_next")
    return say("practice.comes_next", lesson=lesson_due(progress, day, group).says, part=part)


def trend_says(worked: Sequence[WorkedExercise]) -> str:
    """Minutes to those of the program's way, blocks of exercises after each other, with the days."""
    if not worked:
        return ""
    blocks = [worked[at : at + BLOCK] for at in range(0, len(worked), BLOCK)]
    ratios = ", ".join(f"{ratio_of(block):.2f}" for block in blocks)
    return say("practice.trend", n=BLOCK, ratios=ratios, first=day_says(worked[0].day), last=day_says(worked[-1].day))


def ratio_of(worked: Sequence[WorkedExercise]) -> float:
    """Minutes of these exercises to those of the program's ways."""
    return sum(w.minutes for w in worked) / max(sum(w.best for w in worked), 1.0)


def group_trend(everybody: Sequence[Progress]) -> tuple[str, ...]:
    """The same for all trainees together, by how many exercises each had done; and the slips of all by kind."""
    longest = max((len(p.worked) for p in everybody), default=0)
    said = []
    for at in range(0, longest, BLOCK):
        parts = [p.worked[at : at + BLOCK] for p in everybody if len(p.worked) > at]
        together = [w for part in parts for w in part]
        ratio = f"{ratio_of(together):.2f}"
        said.append(say("practice.group_trend", first=at + 1, last=at + BLOCK, n=len(parts), ratio=ratio))
    made = Counter(s for p in everybody for s in p.slips().elements())
    return (*said, *(slips_says(kind, count) for kind, count in made.most_common()))


def day_says(day: int) -> str:
    """A day number as a date, '' for one that is none."""
    return date.fromordinal(day).isoformat() if 0 < day <= date.max.toordinal() else ""


def _splits(progress: Progress) -> str:
    well, of = progress.splits()
    return say("practice.split_skill", well=well, n=of) if of else ""


def _summary(progress: Progress, day: int, group: Sequence[Progress]) -> str:
    worked = progress.worked
    mean = sum(w.score for w in worked) / len(worked) if worked else 0.0
    lesson = lesson_due(progress, day, group).says
    return say("practice.worked", n=len(worked), score=f"{mean:.0f}", lesson=lesson)


def _skill(says: str, mastery: Mastery, day: int) -> Skill:
    spread = f"{100 * mastery.sd:.0f}"
    told = say("practice.skill", percent=percent(mastery.mean), spread=spread, times=f"{mastery.seen:g}")
    return Skill(says, mastery, told, _due(mastery, day))


def _due(mastery: Mastery, day: int) -> str:
    if not mastery.last:
        return ""
    return say("practice.due") if mastery.due() <= day else say("practice.due_in", n=mastery.due() - day)


def _lessons(progress: Progress) -> list[str]:
    known = [(lesson, progress.lessons[lesson.id]) for lesson in LADDER if lesson.id in progress.lessons]
    return [
        say("practice.lesson_stands", lesson=lesson.says, times=f"{m.seen:g}", percent=percent((m.a - 1.0) / m.seen))
        for lesson, m in known
        if m.seen
    ]
