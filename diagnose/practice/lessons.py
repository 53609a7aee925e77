"""What a trainee works on: the lesson that is due, a gate drawn for it, and how the work counts afterwards."""

import secrets
from collections.abc import Sequence
from datetime import date
from functools import partial

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.errors import DiagnoseError, VisitError
from diagnose.kb.files import PROFILE_FOLDER, shipped_folder
from diagnose.measure.simulate import at_face_value
from diagnose.measure.streams import key
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.practice.blocks import family_says
from diagnose.practice.climb import lesson_due
from diagnose.practice.debrief import Debrief
from diagnose.practice.difficulty import NEXT_SEED, draw_level
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


def practice_setup(devices: tuple[str, ...], site: str = DEMO_SITE) -> Setup:
    """A technician without a licence for mains, at an invented site."""
    profiles = (DEMO_DEVICE, site) if load_profile(DEMO_DEVICE).sensor in devices else (site,)
    return Setup(devices=devices, profile=profile_facts(profiles))


def practice_sites() -> tuple[str, ...]:
    """The profiles of the invented sites that practice gates stand at."""
    folder = shipped_folder("knowledge") / PROFILE_FOLDER / "practice"
    return (DEMO_SITE, *sorted(map(str, folder.glob("*.yaml"))))


def families_of(kb: KnowledgeBase) -> dict[str, str]:
    """Cause families that can be practised, with what each is called, in the order of the knowledge."""
    outside = kb.causes[kb.settings.outside_cause].family
    return {f: family_says(kb, f) for f in dict.fromkeys(c.family for c in kb.causes.values()) if f != outside}


def lesson_named(name: str, progress: Progress, group: Sequence[Progress] = ()) -> Lesson:
    """The rung of that name; without one the lesson that is due, by what the group has shown. Raises VisitError."""
    if not name:
        return lesson_due(progress, today(), group)
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
    """The lesson's gate. A seed alone decides family, site and sensors, so that it is the same gate for everybody;
    without one the family that is due comes, and not the one of the last exercise. Raises DiagnoseError.

    Without devices the kinds of sensor take turns until the family occurs there.
    """
    kb, families = reasoner.kb, tuple(families_of(reasoner.kb))
    family = family or _family(progress, families, seed)
    seed = _fresh(progress) if seed is None else seed % NEXT_SEED
    if family not in families:
        raise VisitError(say("practice.unknown_family", name=family, known=", ".join(families)))
    wanted, sites = lesson.wanted(kb, family), practice_sites()
    site = sites[key(seed, "site") % len(sites)]
    for kinds in [devices] if devices else _turned([(d,) for d in kb.devices], key(seed, "kind")):
        try:
            return draw_level(reasoner, practice_setup(kinds, site), wanted, lesson.level, seed)[0]
        except DiagnoseError as error:
            last = error
    raise last


def _family(progress: Progress, families: Sequence[str], seed: int | None) -> str:
    if seed is not None:
        return families[key(seed, "family") % len(families)]
    last = progress.worked[-1].families if progress.worked else ()
    return next_family(progress.families, [f for f in families if f not in last] or families, today())


def _fresh(progress: Progress) -> int:
    """A seed that the trainee has not met."""
    met = {w.seed % NEXT_SEED for w in progress.worked}
    return secrets.choice([seed for seed in range(NEXT_SEED) if seed not in met])


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
        passed=seen.passed,
        devices=gate.setup.devices,
        name=name,
    )


def today() -> int:
    """The day number that mastery fades by."""
    return date.today().toordinal()
