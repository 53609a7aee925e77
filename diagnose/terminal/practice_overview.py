"""A trainer's overview: who is how good at which family, with the uncertainty; and one trainee's own page."""

from collections.abc import Mapping, Sequence

from diagnose.practice.mastery import Mastery
from diagnose.practice.progress import Progress
from diagnose.present.exam import ExamRecord
from diagnose.present.figures import percent
from diagnose.present.trainees import group_trend, trainee_of
from diagnose.terminal.screen import Screen
from diagnose.words import say

SIZE = 20


def draw_overview(screen: Screen, everybody: Sequence[Progress], families: Mapping[str, str], day: int) -> None:
    """One block per trainee: lesson, exercises, weakest families as a plot, slips made most."""
    if not everybody:
        screen.line(say("practice.nobody"))
        return
    screen.heading(say("practice.trainees"))
    for p in everybody:
        screen.pair(p.trainee, trainee_of(p, families, day, everybody).summary)
    weak = weakest(everybody, families)
    if weak:
        screen.heading(say("practice.weakest"))
        for family, mean in weak:
            screen.hanging(f"{'#' * round(mean * SIZE):.<{SIZE}} {percent(mean)}  ", families[family])
    if said := group_trend(everybody):
        screen.heading(say("practice.group"))
    for says in said:
        screen.line(says)
    for p in everybody:
        draw_trainee(screen, p, families, day, everybody)


def weakest(everybody: Sequence[Progress], families: Mapping[str, str]) -> list[tuple[str, float]]:
    """Families somebody has practised, with the mean of their mastery, weakest first."""
    means = []
    for family in families:
        seen = [p.families[family].mean for p in everybody if family in p.families]
        if seen:
            means.append((family, sum(seen) / len(seen)))
    return sorted(means, key=lambda m: (m[1], m[0]))


def draw_trainee(
    screen: Screen, progress: Progress, families: Mapping[str, str], day: int, group: Sequence[Progress] = ()
) -> None:
    """Mastery per family with its interval, slips, and what comes next."""
    trainee = trainee_of(progress, families, day, group)
    screen.heading(trainee.title)
    for skill in trainee.skills:
        due = f"; {skill.due}" if skill.due else ""
        screen.hanging(f"{plot(skill.mastery)} ", f"{skill.says}: {skill.told}{due}")
    told = (trainee.splits, trainee.trend, trainee.rule, trainee.next)
    for says in (*trainee.lessons, *trainee.slips, *filter(None, told)):
        screen.line(says)


def draw_exam(screen: Screen, record: ExamRecord) -> None:
    """The examination so far, gate by gate."""
    screen.heading(record.title)
    screen.line(record.who)
    for row in record.rows:
        screen.hanging("   ", "; ".join(f"{head}: {cell}" for head, cell in zip(record.heads, row, strict=True)))
    screen.line(record.verdict, "bold")
    screen.line(record.asked)


def plot(mastery: Mastery, size: int = SIZE) -> str:
    """The interval as a line with the mean on it: |....--o----......|"""
    low, high = mastery.interval()
    marks = ["."] * size
    for place in range(_place(low, size), _place(high, size) + 1):
        marks[place] = "-"
    marks[_place(mastery.mean, size)] = "o"
    return f"|{''.join(marks)}|"


def _place(p: float, size: int) -> int:
    return min(int(p * size), size - 1)
