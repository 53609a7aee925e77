"""All exercises of all trainees as a table, for a spreadsheet or a program."""

from collections.abc import Iterable, Mapping

from diagnose.practice.progress import Progress, WorkedExercise
from diagnose.present.tables import Cell, Listing
from diagnose.present.trainees import day_says

COLUMNS = (
    "trainee",
    "date",
    "lesson",
    "parts",
    "sensors",
    "seed",
    "minutes",
    "program_minutes",
    "ratio",
    "points",
    "passed",
    "ended",
    "slips",
    "good_splits",
    "splits",
)


def practised(everybody: Iterable[Progress], families: Mapping[str, str]) -> Listing:
    """One row for each exercise, oldest first for each trainee."""
    rows = ((p.trainee, *_row(w, families)) for p in everybody for w in p.worked)
    return Listing(COLUMNS, tuple(rows))


def _row(w: WorkedExercise, families: Mapping[str, str]) -> tuple[Cell, ...]:
    parts, sensors, slips = (
        "; ".join(families.get(f, f) for f in w.families),
        "; ".join(w.devices),
        "; ".join(w.slips),
    )
    numbers = (w.seed, round(w.minutes, 1), round(w.best, 1), round(w.ratio, 2), round(w.score))
    return (day_says(w.day), w.lesson, parts, sensors, *numbers, int(w.passed), w.ended, slips, *w.splits)
