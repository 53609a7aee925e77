"""How far trainees have come: what each masters, with the uncertainty, and what is due."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.practice.ladder import LADDER, OF, WINS
from diagnose.practice.mastery import Mastery, at_least, next_family
from diagnose.practice.progress import Progress
from diagnose.present.debrief import slips_says
from diagnose.present.figures import percent
from diagnose.words import say

MOST_SLIPS = 3


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
    `splits`: how often looks halve what is open, '' where none was made."""

    title: str
    summary: str
    skills: tuple[Skill, ...]
    lessons: tuple[str, ...]
    slips: tuple[str, ...]
    splits: str
    next: str


def trainee_of(progress: Progress, families: Mapping[str, str], day: int) -> Trainee:
    """`families` with what each is called; `day` is today's number."""
    due = next_family(progress.families, tuple(families), day)
    return Trainee(
        title=say("practice.mastery_of", name=progress.trainee),
        summary=_summary(progress),
        skills=tuple(_skill(says, progress.families.get(f, Mastery()), day) for f, says in families.items()),
        lessons=tuple(_lessons(progress)),
        slips=tuple(slips_says(kind, count) for kind, count in progress.slips().most_common(MOST_SLIPS)),
        splits=_splits(progress),
        next=say("practice.comes_next", lesson=progress.lesson.says, part=families[due]),
    )


def _splits(progress: Progress) -> str:
    well, of = progress.splits()
    return say("practice.split_skill", well=well, n=of) if of else ""


def _summary(progress: Progress) -> str:
    worked = progress.worked
    mean = sum(w.score for w in worked) / len(worked) if worked else 0.0
    lesson = progress.lesson.says
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
        say(
            "practice.lesson_stands",
            lesson=lesson.says,
            times=f"{mastery.seen:g}",
            wins=WINS,
            of=OF,
            percent=percent(at_least(WINS, OF, mastery)),
        )
        for lesson, mastery in known
        if mastery.seen
    ]
