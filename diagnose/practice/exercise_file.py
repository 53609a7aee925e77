"""Exercises on disk: how the gate was drawn, and the moves, enough to play one again or to go on with it.

What an earlier version kept - one JSON file each, with a note beside it where a page began it - is still read.
"""

import json
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Role, Setup
from diagnose.practice import progress_file
from diagnose.practice.debrief import Debrief
from diagnose.practice.entries import SUFFIX, Counted, Drawn, ExerciseFile
from diagnose.practice.exercise import Exercise, advance, begin
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.lessons import worked
from diagnose.practice.moves import Move, from_plain, to_plain
from diagnose.practice.progress import Progress
from diagnose.session.grounds import misfit
from diagnose.store.journal import Journal
from diagnose.store.limited import limited_bytes, limited_text
from diagnose.store.locking import patiently
from diagnose.store.naming import free
from diagnose.words import say

VERSION = 1
MAX_BYTES = 2_000_000
MAX_NOTE_BYTES = 10_000
NOTE = ".started"  # of an earlier version
EXERCISES, VISITS = "exercises", "visits"  # folders in that of practice


@dataclass(frozen=True, slots=True)
class Recording:
    """A gate as it was at the start, and the moves made."""

    gate: Gate
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """What an exercise's file holds; `drawn` is None where an earlier version wrote it, `says` is what is wrong."""

    recording: Recording
    drawn: Drawn | None = None
    counted: bool = True
    says: str = ""


@dataclass(frozen=True, slots=True)
class Started:
    """One line of a list of exercises."""

    name: str
    trainee: str
    lesson: str
    ended: bool


def recipe_of(gate: Gate, digest: str) -> dict[str, Any]:
    """The gate as JSON values; `digest` identifies the knowledge it was drawn from."""
    setup = gate.setup
    return {
        "version": VERSION,
        "knowledge": digest,
        "seed": gate.seed,
        "causes": list(gate.truth),
        "complaint": gate.complaint,
        "role": setup.role,
        "electrician": setup.electrician,
        "devices": list(setup.devices),
        "profile": dict(setup.profile),
        "results": dict(gate.results),
    }


def as_plain(recording: Recording, digest: str) -> dict[str, Any]:
    """As an earlier version kept it."""
    return {**recipe_of(recording.gate, digest), "moves": [to_plain(m) for m in recording.moves]}


class Keeping:
    """Puts every move of an exercise on disk before it counts; the file is there from the first one on."""

    def __init__(self, folder: Path, drawn: Drawn, file: ExerciseFile | None = None) -> None:
        self._folder, self._drawn, self.file = folder, drawn, file

    def move(self, move: Move) -> None:
        """Raises VisitError; then the move is not made."""
        if self.file:
            self.file.append(move)
        else:
            self.file = begin_file(self._folder, self._drawn, move)


def begin_file(folder: Path, drawn: Drawn, *moves: Move) -> ExerciseFile:
    """A new exercise, named after the time. Raises VisitError."""
    return ExerciseFile.begun_at(free(folder / f"{datetime.now():%Y%m%d-%H%M%S}{SUFFIX}"), drawn, *moves)


def load(reasoner: Reasoner, path: Path) -> Kept:
    """Read an exercise of any version. Raises VisitError when it is none, or comes from other knowledge."""
    try:
        return _sealed(reasoner, path) if path.suffix == SUFFIX else Kept(_old(reasoner, path))
    except OSError as error:
        raise VisitError(say("store.cannot_read", path=path, why=error.strerror)) from error
    except VisitError:
        raise
    except (DiagnoseError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise VisitError(say("practice.no_exercise_file", file=path.name, why=str(error)[:120])) from error


def _old(reasoner: Reasoner, path: Path) -> Recording:
    plain = json.loads(limited_text(path, MAX_BYTES, say("practice.an_exercise")))
    return Recording(_gate(reasoner, plain), tuple(from_plain(m) for m in plain["moves"]))


def _sealed(reasoner: Reasoner, path: Path) -> Kept:
    found = ExerciseFile.found_in(limited_bytes(path, MAX_BYTES, say("practice.an_exercise"), links=False))
    says = found.says(path.name)
    if not found.events or not isinstance(drawn := found.events[0], Drawn):
        raise VisitError(says or say("practice.no_exercise_file", file=path.name, why=say("store.no_line")))
    gate = _gate(reasoner, drawn.recipe)
    moves = tuple(e for e in found.events if not isinstance(e, Drawn | Counted))
    moves = _possible(reasoner, gate, moves) if says else moves
    return Kept(Recording(gate, moves), drawn, isinstance(found.events[-1], Counted), says)


def _possible(reasoner: Reasoner, gate: Gate, moves: Iterable[Move]) -> tuple[Move, ...]:
    """Those that can still be made where some are lost."""
    exercise = begin(reasoner, gate)
    for move in moves:
        with suppress(DiagnoseError):
            exercise = advance(reasoner, exercise, move)
    return tuple(done.move for done in exercise.done)


def _gate(reasoner: Reasoner, plain: Any) -> Gate:
    if plain["version"] != VERSION:
        raise VisitError(say("practice.other_format", found=repr(plain["version"]), reads=VERSION))
    if plain["knowledge"] != reasoner.kb.digest:
        raise VisitError(say("practice.other_knowledge"))
    role: Role = "help_desk" if plain["role"] == "help_desk" else "technician"
    setup = Setup(role, plain["electrician"] is True, None, tuple(plain["devices"]), dict(plain["profile"]))
    gate = made_gate(reasoner, setup, tuple(plain["causes"]), str(plain["complaint"]), int(plain["seed"]))
    results = dict(plain["results"])
    wrong = [no.says for c, v in results.items() if (no := misfit(reasoner.kb, c, v))]
    if wrong or set(results) != set(gate.results):
        raise VisitError(say("practice.misfit", why=wrong[0]) if wrong else say("practice.misfit_checks"))
    return replace(gate, results=results)


def reopened(path: Path) -> ExerciseFile:
    """To go on with it. Raises VisitError."""
    return patiently(lambda: ExerciseFile.reopen(path)[0])


def count(
    folder: Path, kb: KnowledgeBase, gate: Gate, end: Exercise, seen: Debrief, drawn: Drawn, file: ExerciseFile
) -> Progress:
    """An exercise that has ended: its visit, the trainee's progress, and the note that both are there.

    Cut off anywhere, it is done again and counts once all the same. Raises VisitError.
    """
    name = file.path.stem
    _keep_visit(folder / VISITS / f"{name}.visit", end)
    progress = progress_file.add(folder, drawn.trainee, worked(kb, gate, drawn.lesson, end, seen, name))
    file.append(Counted())
    return progress


def _keep_visit(path: Path, end: Exercise) -> None:
    """For 'record', apart from real visits so that nothing learns from it."""
    if not path.exists():
        Journal.begun_at(path, *end.events).close()


def names(folder: Path) -> list[str]:
    """The exercises that can be gone on with, newest first."""
    found = {p.stem for ending in (SUFFIX, NOTE) for p in folder.glob(f"*{ending}")}
    return sorted(found, reverse=True)


def started(folder: Path, name: str) -> Started:
    """Raises VisitError."""
    path = folder / f"{name}{SUFFIX}"
    if not path.exists():
        return _old_note(folder, name)
    try:
        found = ExerciseFile.found_in(limited_bytes(path, MAX_BYTES, say("practice.an_exercise"), links=False))
    except OSError as error:
        raise VisitError(say("store.cannot_read", path=path.name, why=error.strerror)) from error
    if not found.events or not isinstance(drawn := found.events[0], Drawn):
        raise VisitError(found.says(path.name))
    return Started(name, drawn.trainee, drawn.lesson, isinstance(found.events[-1], Counted))


def _old_note(folder: Path, name: str) -> Started:
    try:
        plain: Any = json.loads(limited_bytes(folder / f"{name}{NOTE}", MAX_NOTE_BYTES, NOTE))
        return Started(name, str(plain["trainee"]), str(plain["lesson"]), plain["ended"] is True)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise VisitError(say("store.cannot_read", path=name, why=str(error)[:80])) from error


def unfinished(folder: Path, trainee: str, most: int = 20) -> Path | None:
    """The newest exercise of this trainee that was cut off before it counted, of the last few of all."""
    wanted = trainee.casefold().split()
    for name in [n for n in names(folder) if (folder / f"{n}{SUFFIX}").exists()][:most]:
        with suppress(VisitError):
            one = started(folder, name)
            if not one.ended and one.trainee.casefold().split() == wanted:
                return folder / f"{name}{SUFFIX}"
    return None
