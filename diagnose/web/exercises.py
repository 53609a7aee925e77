"""Exercises as a page needs them: on disk after every move, kept ready in memory, one move at a time."""

import secrets
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.practice import exercise_file, progress_file
from diagnose.practice.climb import lesson_due
from diagnose.practice.debrief import Debrief, debrief
from diagnose.practice.exam import exam_gate
from diagnose.practice.exercise import Exercise, advance, begin
from diagnose.practice.exercise_file import Recording, Started
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import EXAM, HALF, LADDER, Lesson
from diagnose.practice.lessons import drawn_for, today, worked
from diagnose.practice.moves import Move
from diagnose.practice.progress import Progress
from diagnose.practice.walk import gate_for, moves_of
from diagnose.web.visits import NoVisit
from diagnose.words import say

MOST_READY = 20
LESSONS = {lesson.id: lesson for lesson in (*LADDER, EXAM, HALF)}
Draw = Callable[[Reasoner, Progress, Lesson, int | None], Gate]


@dataclass(frozen=True, slots=True)
class OpenedExercise:
    """One exercise; `stages` are the exercise before every move and after the last one."""

    name: str
    trainee: str
    lesson: Lesson
    recording: Recording
    stages: tuple[Exercise, ...]

    @property
    def exercise(self) -> Exercise:
        return self.stages[-1]

    @property
    def number(self) -> int:
        """How many moves were made; every form carries it."""
        return len(self.recording.moves)


class StaleExercise(DiagnoseError):
    """The exercise went on elsewhere since the form was drawn; nothing was changed."""


class ExerciseFolder:
    """The folder of exercises behind the pages. Safe to share between threads."""

    def __init__(self, reasoner: Reasoner, folder: Path, draw: Draw = drawn_for) -> None:
        self.reasoner, self._folder, self._draw = reasoner, folder, draw
        self._ready: dict[str, OpenedExercise] = {}
        self._debriefs: dict[str, Debrief] = {}
        self._lock = threading.RLock()

    def started(self, most: int = MOST_READY) -> list[Started]:
        """The newest exercises that were begun here."""
        found = list[Started]()
        for name in exercise_file.noted(self._exercises)[:most]:
            with suppress(VisitError):  # one that cannot be read must not hide the others
                found.append(exercise_file.read_note(self._exercises, name))
        return found

    def begin(self, trainee: str, lesson: str, seed: int | None = None) -> str:
        """A gate drawn for the trainee, by default for the lesson that is due; its name. Raises DiagnoseError."""
        known, _ = progress_file.load(self._folder, trainee)
        if lesson == EXAM.id:
            chosen, gate = exam_gate(self.reasoner, known, seed)
        else:
            chosen = LESSONS.get(lesson) or lesson_due(known, today(), self.everybody())
            gate = self._draw(self.reasoner, known, chosen, seed)
        return self._started(Recording(gate, ()), known.trainee, chosen)

    def begin_half_worked(self, trainee: str) -> str:
        """The gate at the end of the first lesson, with what is done for the trainee. Raises DiagnoseError."""
        known, _ = progress_file.load(self._folder, trainee)
        example = next(e for e in self.reasoner.kb.examples.values() if e.given)
        moves = tuple(move for move, _ in moves_of(example))
        return self._started(Recording(gate_for(self.reasoner, example), moves), known.trainee, HALF)

    def _started(self, recording: Recording, trainee: str, lesson: Lesson) -> str:
        name = f"{datetime.now():%Y%m%d-%H%M%S}-{secrets.token_hex(3)}"
        exercise_file.save(self._path(name), recording, self.reasoner.kb.digest)
        exercise_file.write_note(self._exercises, Started(name, trainee, lesson.id, ended=False))
        return name

    def everybody(self) -> list[Progress]:
        """All who practise here."""
        return progress_file.everybody(self._folder)[0]

    def open(self, name: str) -> OpenedExercise:
        """Raises NoVisit, VisitError."""
        with self._lock:
            if name not in self._ready:
                self._ready[name] = self._loaded(name)
            for oldest in list(self._ready)[:-MOST_READY]:
                del self._ready[oldest]
            return self._ready[name]

    def send(self, name: str, number: int, move: Move) -> OpenedExercise:
        """The exercise after a move that is on disk; the same move in the same place counts once.

        Raises StaleExercise, DiagnoseError; then nothing has changed.
        """
        with self._lock:
            opened = self.open(name)
            if opened.number != number:
                if opened.recording.moves[number : number + 1] == (move,):
                    return opened
                raise StaleExercise(say("web.exercise_went_on"))
            after = advance(self.reasoner, opened.exercise, move)
            recording = Recording(opened.recording.gate, (*opened.recording.moves, move))
            exercise_file.save(self._path(name), recording, self.reasoner.kb.digest)
            self._ready[name] = replace(opened, recording=recording, stages=(*opened.stages, after))
            if after.ended:
                self._remember(self._ready[name])
            return self._ready[name]

    def debrief(self, opened: OpenedExercise) -> Debrief:
        """What came of an exercise that has ended."""
        with self._lock:
            if opened.name not in self._debriefs:
                self._debriefs = {opened.name: debrief(self.reasoner, opened.recording.gate, opened.recording.moves)}
            return self._debriefs[opened.name]

    def _remember(self, opened: OpenedExercise) -> None:
        """Into the trainee's progress, once; the half-worked gate counts for nothing."""
        kb, gate = self.reasoner.kb, opened.recording.gate
        done = worked(kb, gate, opened.lesson, opened.exercise, self.debrief(opened))
        if opened.lesson.id != HALF.id:
            known, _ = progress_file.load(self._folder, opened.trainee)
            progress_file.save(self._folder, known.after(done))
        exercise_file.write_note(self._exercises, Started(opened.name, opened.trainee, opened.lesson.id, ended=True))

    @property
    def _exercises(self) -> Path:
        return self._folder / "exercises"

    def _path(self, name: str) -> Path:
        return self._exercises / f"{name}.json"

    def _loaded(self, name: str) -> OpenedExercise:
        if name not in exercise_file.noted(self._exercises):
            raise NoVisit(say("web.no_exercise"))
        started = exercise_file.read_note(self._exercises, name)
        recording = exercise_file.load(self.reasoner, self._path(name))
        stages = [begin(self.reasoner, recording.gate)]
        for move in recording.moves:
            stages.append(advance(self.reasoner, stages[-1], move))
        return OpenedExercise(name, started.trainee, LESSONS.get(started.lesson, LADDER[0]), recording, tuple(stages))
