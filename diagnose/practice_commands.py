"""Practice and explain: one function per command; each returns an exit code."""

import argparse
import io
import secrets
from collections.abc import Sequence
from datetime import date, datetime
from functools import partial
from pathlib import Path

from diagnose.commands import knowledge_of, screen_of, sensors_of
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.errors import DiagnoseError, VisitError
from diagnose.measure.simulate import at_face_value
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.practice.debrief import Debrief, debrief
from diagnose.practice.difficulty import draw_level
from diagnose.practice.exercise import Exercise, replayed
from diagnose.practice.frames import frames
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import LADDER, Lesson
from diagnose.practice.mastery import next_family
from diagnose.practice.progress import Progress, Worked
from diagnose.replays import TRANSCRIPT_WIDTH
from diagnose.session.events import Event, Reply, TakeOver
from diagnose.session.session import step
from diagnose.session.state import Session
from diagnose.store import exercises, visits
from diagnose.store import progress as kept_progress
from diagnose.store.cases import PracticeCase, check_case, gate_of, load_case
from diagnose.store.journal import Journal, read
from diagnose.store.profiles import load_profile, profile_facts
from diagnose.store.scripts import Part, load_script
from diagnose.terminal.practice import Practice
from diagnose.terminal.practice_draw import draw_debrief
from diagnose.terminal.practice_explain import draw_frames
from diagnose.terminal.practice_overview import draw_overview, draw_trainee
from diagnose.terminal.reader import Check, Reader, ScriptReader, choose_reader, on_terminal, wait_for_enter
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit

DEMO_SITE, DEMO_DEVICE = "demo_site", "demo_device"


def practice(args: argparse.Namespace) -> int:
    """An exercise; or the overview, the check of cases, an exercise played again."""
    reasoner = practice_reasoner(knowledge_of(args))
    if args.overview:
        return _overview(args, reasoner.kb)
    if args.check:
        return _check(reasoner, args.check)
    if args.again:
        return _again(reasoner, args.again, screen_of(args))
    return _exercise(args, reasoner)


def practice_reasoner(kb: KnowledgeBase) -> Reasoner:
    """At face value, since practice gates are drawn from the same tables; by the plain fixpoint, which is faster."""
    return Reasoner(at_face_value(kb), partial(fixpoint, kb))


def families_of(kb: KnowledgeBase) -> list[str]:
    """Cause families that can be practised, in the order of the knowledge."""
    outside = kb.causes[kb.settings.outside_cause].family
    return [f for f in dict.fromkeys(c.family for c in kb.causes.values()) if f != outside]


def _overview(args: argparse.Namespace, kb: KnowledgeBase) -> int:
    screen = screen_of(args)
    found, wrong = kept_progress.everybody(kept_progress.practice_folder(args.folder))
    draw_overview(screen, found, families_of(kb), date.today().toordinal())
    for says in wrong:
        screen.hanging("NOT USED  ", says)
    return 0


def _check(reasoner: Reasoner, paths: Sequence[Path]) -> int:
    problems = [says for path in paths for says in check_case(reasoner, path)]
    print(*problems, sep="\n") if problems else print(f"{len(paths)} case(s): no problems")
    return 1 if problems else 0


def _again(reasoner: Reasoner, path: Path, screen: Screen) -> int:
    kept = exercises.load(reasoner, path)
    end = replayed(reasoner, kept.gate, kept.moves)
    draw_debrief(screen, reasoner.kb, kept.gate.truth, end.ended, debrief(reasoner, kept.gate, kept.moves))
    return 0


def _exercise(args: argparse.Namespace, reasoner: Reasoner) -> int:
    screen, folder = screen_of(args), kept_progress.practice_folder(args.folder)
    progress, damage = kept_progress.load(folder, args.trainee)
    if damage:
        screen.line(damage, "bold")
    case = load_case(args.case) if args.case else None
    lesson = case_lesson(case) if case else _lesson(args.lesson, progress)
    screen.line(f"Lesson: {lesson.says}. Preparing a gate...")
    gate = gate_of(reasoner, case) if case else _drawn(args, reasoner, progress, lesson)
    play = Practice(reasoner, gate, screen, choose_reader(args.plain), lesson.hints, not args.unaided)
    end = play.run(case.words if case else "")
    if not play.moves:
        return 0
    seen = debrief(reasoner, gate, play.moves)
    draw_debrief(screen, reasoner.kb, gate.truth, end.ended, seen)
    if case and case.story:
        screen.pair("The story", case.story)
    progress = progress.after(worked(reasoner.kb, gate, lesson, end, seen))
    kept_progress.save(folder, progress)
    screen.line(f"Kept: {_keep(reasoner.kb, folder, gate, play, end)}")
    draw_trainee(screen, progress, families_of(reasoner.kb), date.today().toordinal())
    return 0


def case_lesson(case: PracticeCase) -> Lesson:
    """A trainer's case in the place of a lesson; it counts for its families, but for no rung of the ladder."""
    return Lesson("case", case.title, len(case.causes), None, case.hints)


def _lesson(name: str, progress: Progress) -> Lesson:
    if not name:
        return progress.lesson
    known = {x.id: x for x in LADDER}
    if name not in known:
        raise VisitError(f"unknown lesson {name!r}; known: {', '.join(known)}")
    return known[name]


def _drawn(args: argparse.Namespace, reasoner: Reasoner, progress: Progress, lesson: Lesson) -> Gate:
    return drawn_for(reasoner, progress, lesson, args.seed, args.family, sensors_of(args))


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
    kb, families = reasoner.kb, families_of(reasoner.kb)
    seed = secrets.randbelow(10**6) if seed is None else seed
    family = family or next_family(progress.families, families, date.today().toordinal())
    if family not in families:
        raise VisitError(f"unknown family {family!r}; known: {', '.join(families)}")
    wanted = lesson.wanted(kb, family)
    for kinds in [devices] if devices else _turned([(d,) for d in kb.devices], seed):
        try:
            return draw_level(reasoner, practice_setup(kinds), wanted, lesson.level, seed)[0]
        except DiagnoseError as error:
            last = error
    raise last


def _turned(kinds: list[tuple[str, ...]], seed: int) -> list[tuple[str, ...]]:
    start = seed % len(kinds)
    return kinds[start:] + kinds[:start]


def practice_setup(devices: tuple[str, ...]) -> Setup:
    """A technician without a licence for mains, at the invented site."""
    profiles = (DEMO_DEVICE, DEMO_SITE) if load_profile(DEMO_DEVICE).sensor in devices else (DEMO_SITE,)
    return Setup(devices=devices, profile=profile_facts(profiles))


def worked(kb: KnowledgeBase, gate: Gate, lesson: Lesson, end: Exercise, seen: Debrief) -> Worked:
    """The exercise as it goes into the trainee's progress."""
    return Worked(
        day=date.today().toordinal(),
        seed=gate.seed,
        lesson=lesson.id,
        families=tuple(dict.fromkeys(kb.causes[c].family for c in gate.truth)),
        score=seen.score,
        minutes=seen.minutes,
        best=seen.best_minutes,
        brier=-1.0 if seen.brier is None else seen.brier,
        ended=end.ended,
        slips=tuple(seen.slips.elements()),
    )


def _keep(kb: KnowledgeBase, folder: Path, gate: Gate, play: Practice, end: Exercise) -> Path:
    """The exercise for playing again, and its visit for 'record', apart from real visits so that nothing learns."""
    with Journal.create(folder / "visits", datetime.now()) as journal:
        for event in end.events:
            journal.append(event)
        path = (folder / "exercises" / journal.path.name).with_suffix(".json")
    exercises.save(path, exercises.Kept(gate, play.moves), kb.digest)
    return path


class _Typed:
    """Reads a case's prepared lines and shows each; the input ends with them."""

    def __init__(self, lines: Sequence[str], screen: Screen) -> None:
        self._lines, self._screen = list(lines), screen

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        del words, check, topic
        if not self._lines:
            raise EOFError
        self._screen.line(f"{prompt}{self._lines[0]}")
        return self._lines.pop(0).strip()


def practice_transcript(reasoner: Reasoner, case: PracticeCase) -> str:
    """A case worked by its typed lines, as the terminal shows it: 80 columns, no colour."""
    text = io.StringIO()
    screen = Screen(text, TRANSCRIPT_WIDTH, plain=True)
    gate = gate_of(reasoner, case)
    screen.line(case.title, "bold")
    play = Practice(reasoner, gate, screen, _Typed(case.typed, screen), case.hints)
    end = play.run(case.words)
    draw_debrief(screen, reasoner.kb, gate.truth, end.ended, debrief(reasoner, gate, play.moves))
    if case.story:
        screen.pair("The story", case.story)
    return text.getvalue()


def explain(args: argparse.Namespace) -> int:
    """Step through a visit or a demonstration script, with the bars of belief moving after every answer."""
    reasoner, screen, reader = Reasoner(knowledge_of(args)), screen_of(args), choose_reader(args.plain)
    events = _events(reasoner, args)
    draw_frames(screen, reasoner.kb, frames(reasoner, events), partial(_pause, reader))
    return 0


def _pause(reader: Reader) -> None:
    if on_terminal():
        wait_for_enter(reader)


def _events(reasoner: Reasoner, args: argparse.Namespace) -> list[Event]:
    path = Path(args.name)
    if path.suffix == ".yaml":
        return script_events(reasoner, path)
    return list(read(visits.find(visits.visits_folder(args.visits), args.name)).events)


def script_events(reasoner: Reasoner, path: Path) -> list[Event]:
    """Every event of a demonstration script, over a hand-over where it has one. Raises VisitError."""
    script, kb = load_script(path), reasoner.kb
    events: list[Event] = [script.begin(kb.digest)]
    session = step(kb, None, events[0])
    for check, value in script.first.items():
        events.append(Reply(check, value))
        session = step(kb, session, events[-1])
    session = _played(reasoner, session, Part(answers=script.answers, at_end=script.at_end), events)
    if script.taken_over:
        setup = Setup("technician", script.taken_over.electrician, None, session.setup.devices, session.setup.profile)
        events.append(TakeOver(setup, "technician in the van"))
        _played(reasoner, step(kb, session, events[-1]), script.taken_over, events)
    return events


def _played(reasoner: Reasoner, session: Session, part: Part, events: list[Event]) -> Session:
    unseen = Screen(io.StringIO(), TRANSCRIPT_WIDTH, plain=True)
    reader = ScriptReader(part.answers, part.at_end, lambda _: None)
    return Visit(reasoner, session, unseen, reader, events.append).run()
