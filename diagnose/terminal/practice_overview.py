"""A trainer's overview: who is how good at which family, with the uncertainty; and one trainee's own page."""

from collections.abc import Sequence

from diagnose.practice.ladder import LADDER, OF, WINS
from diagnose.practice.mastery import Mastery, at_least, next_family
from diagnose.practice.progress import Progress
from diagnose.practice.slips import SAYS
from diagnose.terminal.screen import Screen

SIZE = 20


def draw_overview(screen: Screen, everybody: Sequence[Progress], families: Sequence[str], day: int) -> None:
    """One block per trainee: lesson, exercises, weakest families as a plot, slips made most."""
    if not everybody:
        screen.line("Nobody has practised yet; 'diagnose practice --trainee NAME' begins.")
        return
    screen.heading("Trainees")
    for p in everybody:
        mean = sum(w.score for w in p.worked) / len(p.worked) if p.worked else 0.0
        told = f"{len(p.worked)} exercises, mean score {mean:.0f}, lesson '{p.lesson.id}'"
        screen.hanging(f"{p.trainee}: ", told)
    weak = weakest(everybody, families)
    if weak:
        screen.heading("Weakest first: mean mastery over all trainees")
        for family, mean in weak:
            screen.line(f"{family:16} {mean:4.0%} {'#' * round(mean * SIZE)}")
    for p in everybody:
        draw_trainee(screen, p, families, day)


def weakest(everybody: Sequence[Progress], families: Sequence[str]) -> list[tuple[str, float]]:
    """Families somebody has practised, with the mean of their mastery, weakest first."""
    means = []
    for family in families:
        seen = [p.families[family].mean for p in everybody if family in p.families]
        if seen:
            means.append((family, sum(seen) / len(seen)))
    return sorted(means, key=lambda m: (m[1], m[0]))


def draw_trainee(screen: Screen, progress: Progress, families: Sequence[str], day: int) -> None:
    """Mastery per family with its 90 % interval, slips, and what comes next."""
    screen.heading(f"{progress.trainee}: mastery per family, 90 % interval")
    for family in families:
        mastery = progress.families.get(family, Mastery())
        due = "" if not mastery.last else " due" if mastery.due() <= day else f" in {mastery.due() - day} d"
        screen.line(
            f"{family:16} {plot(mastery)} {mastery.mean:4.0%} ±{100 * mastery.sd:.0f} n={mastery.seen:g}{due}"
        )
    for lesson in LADDER:
        known = progress.lessons.get(lesson.id, Mastery())
        if known.seen:
            likely = at_least(WINS, OF, known)
            screen.line(f"lesson {lesson.id:16} n={known.seen:g}, {WINS} of the next {OF} go well: {likely:.0%}")
    for kind, count in progress.slips().most_common(3):
        screen.line(f"slip: {SAYS.get(kind, kind)} ({count})")
    screen.line(f"Next: lesson '{progress.lesson.id}', family '{next_family(progress.families, families, day)}'")


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
