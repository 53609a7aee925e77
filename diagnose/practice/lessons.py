"""What a trainee works on: the lesson that is due, a gate drawn for it, and how the work counts afterwards."""

import secrets
from collections.abc import Sequence
from datetime import date
from functools import partial

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.errors import DiagnoseError, VisitError
from diagnose.measure.simulate import at_face_value
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.practice.blocks import family_says
from diagnose.practice.debrief import Debrief
from diagnose.practice.difficulty import draw_level
from diagnose.practice.exercise import Exercise
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import LADDER, Lesson
from diagnose.practice.mastery import next_family
from diagnose.practice.progress import Progress, WorkedExercise
from diagnose.store.profiles import load_profile, profile_facts
from diagnose.words import say

DEMO_SITE, DEMO_DEVICE = "demo_site", "demo_device"


def practice_reasoner(kb: KnowledgeBase) -> Reasoner:
    """At face value, since practice gates are drawn from the same tables; by the plain fixpoint, which is faster."""
    return Reasoner(at_face_value(kb), partial(fixpoint, kb))


def practice_setup(devices: tuple[str, ...]) -> Setup:
    """A technician without a licence for mains, at the invented site."""
    profiles = (DEMO_DEVICE, DEMO_SITE) if load_profile(DEMO_DEVICE).sensor in devices else (DEMO_SITE,)
    return Setup(devices=devices, profile=profile_facts(profiles))


def families_of(kb: KnowledgeBase) -> dict[str, str]:
    """Cause families that can be practised, with what each is called, in the order of the knowledge."""
    outside = kb.causes[kb.settings.outside_cause].family
    return {f: family_says(kb, f) for f in dict.fromkeys(c.family for c in kb.causes.values()) if f != outside}


def lesson_named(name: str, progress: Progress) -> Lesson:
    """The rung of that name; without one the lesson that is due. Raises VisitError."""
    if not name:
        return progress.lesson
    known = {x.id: x for x in LADDER}
    if name not in known:
        raise VisitError(say("practice.unknown_lesson", name=name, known=", ".join(known)))
    return known[name]


def drawn_for(
    reasoner: Reasoner,
    progress: Progress,
    lesson: Lesson,
    seed: int | None = None,
    family: str = "",
    devices: tuple[str, ...] = (),
) -> Gate:
    """The lesson's gate for the family, by default the one that is due.

    Without devices the sensors are turned by the seed until the family occurs there. Raises DiagnoseError.
    """
    kb, families = reasoner.kb, tuple(families_of(reasoner.kb))
    seed = secrets.randbelow(10**6) if seed is None else seed
    family = family or next_family(progress.families, families, today())
    if family not in families:
        raise VisitError(say("practice.unknown_family", name=family, known=", ".join(families)))
    wanted = lesson.wanted(kb, family)
    for kinds in [devices] if devices else _turned([(d,) for d in kb.devices], seed):
        try:
            return draw_level(reasoner, practice_setup(kinds), wanted, lesson.level, seed)[0]
        except DiagnoseError as error:
            last = error
    raise last


def _turned(kinds: Sequence[tuple[str, ...]], seed: int) -> list[tuple[str, ...]]:
    start = seed % len(kinds)
    return [*kinds[start:], *kinds[:start]]


def worked(kb: KnowledgeBase, gate: Gate, lesson: str, end: Exercise, seen: Debrief, name: str) -> WorkedExercise:
    """The exercise as it goes into the trainee's progress; `name` is its file's."""
    return WorkedExercise(
        day=today(),
        seed=gate.seed,
        lesson=lesson,
        families=tuple(dict.fromkeys(kb.causes[c].family for c in gate.truth)),
        score=seen.score,
        minutes=seen.minutes,
        best=seen.best_minutes,
        brier=-1.0 if seen.brier is None else seen.brier,
        ended=end.ended,
        slips=tuple(seen.slips.elements()),
        splits=seen.splits,
        name=name,
    )


def today() -> int:
    """The day number that mastery fades by."""
    return date.today().toordinal()
