"""Exercises as a page needs them: on disk after every move, kept ready in memory, one move at a time."""

import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.practice import exercise_file, progress_file
from diagnose.practice.climb import lesson_due
from diagnose.practice.debrief import Debrief, debrief
from diagnose.practice.entries import SUFFIX, Counted, Drawn, ExerciseFile
from diagnose.practice.exam import exam_gate
from diagnose.practice.exercise import Exercise, advance, begin, made
from diagnose.practice.exercise_file import Recording, Started
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import EXAM, HALF, LADDER, Lesson
from diagnose.practice.lessons import drawn_for, today
from diagnose.practice.moves import Move
from diagnose.practice.progress import Progress
from diagnose.practice.walk import gate_for, moves_of
from diagnose.store.listed import state_of
from diagnose.web.visits import NoVisit
from diagnose.words import say

MOST_READY = 20
MOST_LOOKED = 500  # files that are read for a list of those that somebody may see
LESSONS = {lesson.id: lesson for lesson in (*LADDER, EXAM, HALF)}
Draw = Callable[[Reasoner, Progress, Lesson, int | None], Gate]


@dataclass(frozen=True, slots=True)
class OpenedExercise:
    """One exercise; `stages` are the exercise before every move and after the last one, `read` is the state of its
    file then, `says` what is wrong with it."""

    name: str
    trainee: str
    lesson: Lesson
    recording: Recording
    stages: tuple[Exercise, ...]
    read: str = ""
    says: str = ""

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

    def started(self, may_see: Callable[[str], bool] = lambda _: True, most: int = MOST_READY) -> list[Started]:
        """The newest exercises that can be gone on with or looked at again, of the trainees that may be seen."""
        return list(islice((s for s in self._readable() if may_see(s.trainee)), most))

    def _readable(self) -> Iterator[Started]:
        for name in exercise_file.names(self._exercises)[:MOST_LOOKED]:
            with suppress(VisitError):  # one that cannot be read must not hide the others
                yield exercise_file.started(self._exercises, name)

    def begin(self, trainee: str, lesson: str, seed: int | None = None) -> str:
        """A gate drawn for the trainee, by default for the lesson that is due; its name. Raises DiagnoseError."""
        known, _ = progress_file.load(self._folder, trainee)
        if lesson == EXAM.id:
            chosen, gate = exam_gate(self.reasoner, known, seed)
        else:
            chosen = LESSONS.get(lesson) or lesson_due(known, today(), self.everybody())
            gate = self._draw(self.reasoner, known, chosen, seed)
        return self._started(gate, (), known.trainee, chosen)

    def begin_half_worked(self, trainee: str) -> str:
        """The gate at the end of the first lesson, with what is done for the trainee. Raises DiagnoseError."""
        known, _ = progress_file.load(self._folder, trainee)
        example = next(e for e in self.reasoner.kb.examples.values() if e.given)
        moves = tuple(move for move, _ in moves_of(example))
        return self._started(gate_for(self.reasoner, example), moves, known.trainee, HALF)

    def _started(self, gate: Gate, moves: tuple[Move, ...], trainee: str, lesson: Lesson) -> str:
        drawn = self._drawn(gate, trainee, lesson)
        with exercise_file.begin_file(self._exercises, drawn, *moves) as file:
            return file.path.stem

    def everybody(self) -> list[Progress]:
        """All who practise here."""
        return progress_file.everybody(self._folder)[0]

    def open(self, name: str) -> OpenedExercise:
        """As it is on disk, where another program may have gone on with it. Raises NoVisit, VisitError."""
        with self._lock:
            path = self._path(name)
            ready = self._ready.get(name)
            if ready is None or ready.read != state_of(path):
                ready = self._ready[name] = self._loaded(name, path)
            for oldest in list(self._ready)[:-MOST_READY]:
                del self._ready[oldest]
            return ready

    def send(self, name: str, number: int, move: Move) -> OpenedExercise:
        """The exercise after a move that is on disk; the same move in the same place counts once.

        Raises StaleExercise, DiagnoseError; then nothing has changed.
        """
        with self._lock:
            self.open(name)  # what was cut off when it ended is counted before
            with self._file(name) as file:
                return self._sent(self.open(name), number, move, file)

    def _sent(self, opened: OpenedExercise, number: int, move: Move, file: ExerciseFile) -> OpenedExercise:
        if opened.number != number:
            if opened.recording.moves[number : number + 1] == (move,):
                return opened
            raise StaleExercise(say("web.exercise_went_on"))
        after = made(self.reasoner, opened.exercise, move)
        file.append(move)
        recording = Recording(opened.recording.gate, (*opened.recording.moves, move))
        opened = replace(opened, recording=recording, stages=(*opened.stages, after))
        if after.ended:
            self._count(opened, file)
        self._ready[opened.name] = replace(opened, read=state_of(file.path))
        return self._ready[opened.name]

    def debrief(self, opened: OpenedExercise) -> Debrief:
        """What came of an exercise that has ended."""
        with self._lock:
            if opened.name not in self._debriefs:
                self._debriefs = {opened.name: debrief(self.reasoner, opened.recording.gate, opened.recording.moves)}
            return self._debriefs[opened.name]

    def _count(self, opened: OpenedExercise, file: ExerciseFile) -> None:
        """Into the trainee's progress, once; the half-worked gate counts for nothing."""
        if opened.lesson.id == HALF.id:
            file.append(Counted())
            return
        gate, seen = opened.recording.gate, self.debrief(opened)
        drawn = self._drawn(gate, opened.trainee, opened.lesson)
        exercise_file.count(self._folder, self.reasoner.kb, gate, opened.exercise, seen, drawn, file)

    def _drawn(self, gate: Gate, trainee: str, lesson: Lesson) -> Drawn:
        recipe = exercise_file.recipe_of(gate, self.reasoner.kb.digest)
        return Drawn(recipe, trainee, lesson.id, lesson.hints, lesson.aided)

    def _file(self, name: str) -> ExerciseFile:
        """The file to write to; one of an earlier version is written anew beside it. Raises VisitError."""
        path = self._path(name)
        if path.suffix == SUFFIX:
            return exercise_file.reopened(path)
        opened = self.open(name)
        drawn = self._drawn(opened.recording.gate, opened.trainee, opened.lesson)
        return ExerciseFile.begun_at(path.with_suffix(SUFFIX), drawn, *opened.recording.moves)

    @property
    def _exercises(self) -> Path:
        return self._folder / exercise_file.EXERCISES

    def _path(self, name: str) -> Path:
        """Found in the folder by its whole name and never made from it. Raises NoVisit."""
        if name not in exercise_file.names(self._exercises):
            raise NoVisit(say("web.no_exercise"))
        path = self._exercises / f"{name}{SUFFIX}"
        return path if path.exists() else path.with_suffix(".json")

    def _loaded(self, name: str, path: Path) -> OpenedExercise:
        read, started = state_of(path), exercise_file.started(self._exercises, name)
        kept = exercise_file.load(self.reasoner, path)
        stages = [begin(self.reasoner, kept.recording.gate)]
        for move in kept.recording.moves:
            stages.append(advance(self.reasoner, stages[-1], move))
        lesson = LESSONS.get(started.lesson, LADDER[0])
        opened = OpenedExercise(name, started.trainee, lesson, kept.recording, tuple(stages), read, kept.says)
        if opened.exercise.ended and not kept.counted:  # it was cut off just there
            with exercise_file.reopened(path) as file:
                self._count(opened, file)
        return opened
