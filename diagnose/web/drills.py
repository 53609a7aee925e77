"""Exercises as a page needs them: on disk after every move, kept ready in memory, one move at a time."""

import json
import secrets
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.practice.debrief import Debrief, debrief
from diagnose.practice.exercise import Exercise, advance, begin
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import LADDER, Lesson
from diagnose.practice.moves import Move
from diagnose.practice.progress import Progress, Worked
from diagnose.store import exercises, progress
from diagnose.store.atomic import replace_file
from diagnose.web.visits import NoVisit

MOST_READY = 20
LESSONS = {lesson.id: lesson for lesson in LADDER}
Draw = Callable[[Reasoner, Progress, Lesson], Gate]
Count = Callable[[Gate, Lesson, Exercise, Debrief], Worked]


@dataclass(frozen=True, slots=True)
class Drill:
    """One exercise; `stages` are the exercise before every move and after the last one."""

    name: str
    trainee: str
    lesson: Lesson
    kept: exercises.Kept
    stages: tuple[Exercise, ...]

    @property
    def exercise(self) -> Exercise:
        return self.stages[-1]

    @property
    def number(self) -> int:
        """How many moves were made; every form carries it."""
        return len(self.kept.moves)


@dataclass(frozen=True, slots=True)
class Started:
    """One line of the list of exercises."""

    name: str
    trainee: str
    lesson: str
    ended: bool


class StaleDrill(DiagnoseError):
    """The exercise went on elsewhere since the form was drawn; nothing was changed."""


class Drills:
    """The folder of exercises behind the pages. Safe to share between threads."""

    def __init__(self, reasoner: Reasoner, folder: Path, draw: Draw, count: Count) -> None:
        self.reasoner, self._folder, self._draw, self._count = reasoner, folder, draw, count
        self._ready: dict[str, Drill] = {}
        self._debriefs: dict[str, Debrief] = {}
        self._lock = threading.RLock()

    def started(self, most: int = MOST_READY) -> list[Started]:
        """The newest exercises that were begun here."""
        names = sorted((p.stem for p in self._exercises.glob("*.started")), reverse=True)[:most]
        found = list[Started]()
        for name in names:
            with suppress(VisitError):  # one that cannot be read must not hide the others
                found.append(self._started(name))
        return found

    def begin(self, trainee: str, lesson: str) -> str:
        """A gate drawn for the trainee, by default for the lesson that is due; its name. Raises DiagnoseError."""
        known, _ = progress.load(self._folder, trainee)
        chosen = LESSONS.get(lesson, known.lesson)
        gate = self._draw(self.reasoner, known, chosen)
        name = f"{datetime.now():%Y%m%d-%H%M%S}-{secrets.token_hex(3)}"
        exercises.save(self._path(name), exercises.Kept(gate, ()), self.reasoner.kb.digest)
        self._note(Started(name, known.trainee, chosen.id, ended=False))
        return name

    def open(self, name: str) -> Drill:
        """Raises NoVisit, VisitError."""
        with self._lock:
            if name not in self._ready:
                self._ready[name] = self._loaded(name)
            for oldest in list(self._ready)[:-MOST_READY]:
                del self._ready[oldest]
            return self._ready[name]

    def send(self, name: str, number: int, move: Move) -> Drill:
        """The exercise after a move that is on disk; the same move in the same place counts once.

        Raises StaleDrill, DiagnoseError; then nothing has changed.
        """
        with self._lock:
            drill = self.open(name)
            if drill.number != number:
                if drill.kept.moves[number : number + 1] == (move,):
                    return drill
                raise StaleDrill("This exercise went on elsewhere; your move was not made. Here is where it stands.")
            after = advance(self.reasoner, drill.exercise, move)
            kept = exercises.Kept(drill.kept.gate, (*drill.kept.moves, move))
            exercises.save(self._path(name), kept, self.reasoner.kb.digest)
            self._ready[name] = replace(drill, kept=kept, stages=(*drill.stages, after))
            if after.ended:
                self._remember(self._ready[name])
            return self._ready[name]

    def debrief(self, drill: Drill) -> Debrief:
        """What came of an exercise that has ended."""
        with self._lock:
            if drill.name not in self._debriefs:
                self._debriefs = {drill.name: debrief(self.reasoner, drill.kept.gate, drill.kept.moves)}
            return self._debriefs[drill.name]

    def _remember(self, drill: Drill) -> None:
        """Into the trainee's progress, once."""
        worked = self._count(drill.kept.gate, drill.lesson, drill.exercise, self.debrief(drill))
        known, _ = progress.load(self._folder, drill.trainee)
        progress.save(self._folder, known.after(worked))
        self._note(Started(drill.name, drill.trainee, drill.lesson.id, ended=True))

    @property
    def _exercises(self) -> Path:
        return self._folder / "exercises"

    def _path(self, name: str) -> Path:
        return self._exercises / f"{name}.json"

    def _note(self, started: Started) -> None:
        plain = {"trainee": started.trainee, "lesson": started.lesson, "ended": started.ended}
        try:
            replace_file(self._path(started.name).with_suffix(".started"), json.dumps(plain).encode())
        except OSError as error:
            raise VisitError(f"the exercise could not be saved: {error.strerror}") from error

    def _started(self, name: str) -> Started:
        try:
            plain: Any = json.loads(self._path(name).with_suffix(".started").read_bytes()[:10_000])
            return Started(name, str(plain["trainee"]), str(plain["lesson"]), plain["ended"] is True)
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise VisitError(f"the exercise {name} cannot be read: {str(error)[:80]}") from error

    def _loaded(self, name: str) -> Drill:
        if name not in {p.stem for p in self._exercises.glob("*.started")}:
            raise NoVisit("There is no exercise of this name here.")
        started, kept = self._started(name), exercises.load(self.reasoner, self._path(name))
        stages = [begin(self.reasoner, kept.gate)]
        for move in kept.moves:
            stages.append(advance(self.reasoner, stages[-1], move))
        return Drill(name, started.trainee, LESSONS.get(started.lesson, LADDER[0]), kept, tuple(stages))
