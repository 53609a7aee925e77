"""An examination in words: what came of each gate, what was asked for, and the lines that a trainer signs."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.practice.exam import GATES, NEEDED, RATIO, Sitting
from diagnose.practice.progress import WorkedExercise
from diagnose.practice.wording import ended_says, slip_says
from diagnose.present.figures import minutes
from diagnose.present.trainees import day_says
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class ExamRecord:
    """`heads` and `rows` are one table, a row for each gate; `sign`: lines to fill in by hand."""

    title: str
    who: str
    verdict: str
    asked: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sign: tuple[str, ...]


def exam_record(sitting: Sitting, families: Mapping[str, str]) -> ExamRecord:
    """`families` with what each is called."""
    names = ("day", "part", "own", "programs", "result", "slips", "seed")
    return ExamRecord(
        title=say("practice.exam_title"),
        who=say("practice.exam_who", trainee=sitting.trainee, number=sitting.number),
        verdict=_verdict(sitting),
        asked=say("practice.exam_asked", gates=GATES, needed=NEEDED, ratio=RATIO),
        heads=tuple(say(f"practice.exam_{name}") for name in names),
        rows=tuple(_row(w, families) for w in sitting.gates),
        sign=(say("practice.exam_sign"), say("practice.exam_date")),
    )


def _verdict(sitting: Sitting) -> str:
    if not sitting.whole:
        return say("practice.exam_open", done=len(sitting.gates), gates=GATES)
    told = {"good": len(sitting.good), "gates": GATES, "ratio": f"{sitting.ratio:.2f}"}
    if sitting.passed:
        return say("practice.exam_passed", **told)
    return say("practice.exam_failed", **told) if sitting.safe else say("practice.exam_unsafe")


def _row(w: WorkedExercise, families: Mapping[str, str]) -> tuple[str, ...]:
    parts = ", ".join(families.get(f, f) for f in w.families)
    by_luck = w.ended == "solved" and not w.passed
    result = say("practice.exam_luck") if by_luck else ended_says(w.ended)
    slips = ", ".join(dict.fromkeys(slip_says(kind) for kind in w.slips)) or say("practice.exam_no_slip")
    return day_says(w.day), parts, minutes(w.minutes), minutes(w.best), result, slips, str(w.seed)
