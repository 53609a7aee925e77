"""Exercises on disk: the gate's recipe and the moves, enough to play one again; one JSON file each.

An exercise that was begun on a page has a note beside it: whose it is, which lesson, whether it has ended.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.model.visit import Role, Setup
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.moves import Move, from_plain, to_plain
from diagnose.session.events import Event
from diagnose.session.grounds import misfit
from diagnose.store.atomic import replace_file
from diagnose.store.journal import Journal
from diagnose.store.limited import limited_text
from diagnose.words import say

VERSION = 1
MAX_BYTES = 2_000_000
MAX_NOTE_BYTES = 10_000
NOTE = ".started"


@dataclass(frozen=True, slots=True)
class Recording:
    """A gate as it was at the start, and the moves made."""

    gate: Gate
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Started:
    """What the note beside an exercise says."""

    name: str
    trainee: str
    lesson: str
    ended: bool


def as_plain(recording: Recording, digest: str) -> dict[str, Any]:
    """As JSON values; `digest` identifies the knowledge it was drawn from."""
    gate, setup = recording.gate, recording.gate.setup
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
        "moves": [to_plain(m) for m in recording.moves],
    }


def save(path: Path, recording: Recording, digest: str) -> None:
    """Write the exercise. Raises VisitError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, json.dumps(as_plain(recording, digest), indent=1).encode())
    except OSError as error:
        raise VisitError(say("store.cannot_write", path=path, why=error.strerror)) from error


def load(reasoner: Reasoner, path: Path) -> Recording:
    """Read an exercise. Raises VisitError when it is none, or comes from other knowledge."""
    try:
        plain = json.loads(limited_text(path, MAX_BYTES, say("practice.an_exercise")))
        return _recording(reasoner, plain)
    except OSError as error:
        raise VisitError(say("store.cannot_read", path=path, why=error.strerror)) from error
    except VisitError:
        raise
    except (DiagnoseError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise VisitError(say("practice.no_exercise_file", file=path.name, why=str(error)[:120])) from error


def _recording(reasoner: Reasoner, plain: Any) -> Recording:
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
    gate = replace(gate, results=results)
    return Recording(gate, tuple(from_plain(m) for m in plain["moves"]))


def keep_worked(folder: Path, recording: Recording, events: Iterable[Event], digest: str) -> Path:
    """The exercise for playing again, and its visit for 'record', apart from real visits so that nothing learns."""
    with Journal.create(folder / "visits", datetime.now()) as journal:
        for event in events:
            journal.append(event)
        path = (folder / "exercises" / journal.path.name).with_suffix(".json")
    save(path, recording, digest)
    return path


def noted(folder: Path) -> list[str]:
    """The names of the exercises with a note, newest first."""
    return sorted((p.stem for p in folder.glob(f"*{NOTE}")), reverse=True)


def write_note(folder: Path, started: Started) -> None:
    """Raises VisitError."""
    plain = {"trainee": started.trainee, "lesson": started.lesson, "ended": started.ended}
    try:
        replace_file(_note(folder, started.name), json.dumps(plain).encode())
    except OSError as error:
        raise VisitError(say("practice.not_saved", why=error.strerror)) from error


def read_note(folder: Path, name: str) -> Started:
    """Raises VisitError."""
    try:
        plain: Any = json.loads(_note(folder, name).read_bytes()[:MAX_NOTE_BYTES])
        return Started(name, str(plain["trainee"]), str(plain["lesson"]), plain["ended"] is True)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise VisitError(say("store.cannot_read", path=name, why=str(error)[:80])) from error


def _note(folder: Path, name: str) -> Path:
    return folder / f"{name}{NOTE}"
