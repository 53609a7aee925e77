"""Worked exercises on disk: the gate's recipe and the moves, enough to play one again; one JSON file each."""

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.model.visit import Role, Setup
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.moves import Move, from_plain, to_plain
from diagnose.session.grounds import misfit
from diagnose.store.atomic import replace_file
from diagnose.store.limited import limited_text

VERSION = 1
MAX_BYTES = 2_000_000


@dataclass(frozen=True, slots=True)
class Kept:
    """A gate as it was at the start, and the moves made."""

    gate: Gate
    moves: tuple[Move, ...]


def as_plain(kept: Kept, digest: str) -> dict[str, Any]:
    """As JSON values; `digest` identifies the knowledge it was drawn from."""
    gate, setup = kept.gate, kept.gate.setup
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
        "moves": [to_plain(m) for m in kept.moves],
    }


def save(path: Path, kept: Kept, digest: str) -> None:
    """Write the exercise. Raises VisitError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, json.dumps(as_plain(kept, digest), indent=1).encode())
    except OSError as error:
        raise VisitError(f"cannot write {path}: {error.strerror}") from error


def load(reasoner: Reasoner, path: Path) -> Kept:
    """Read an exercise. Raises VisitError when it is none, or comes from other knowledge."""
    try:
        plain = json.loads(limited_text(path, MAX_BYTES, "an exercise"))
        return _kept(reasoner, plain)
    except OSError as error:
        raise VisitError(f"cannot read {path}: {error.strerror}") from error
    except VisitError:
        raise
    except (DiagnoseError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise VisitError(f"{path.name} is no exercise of this program: {str(error)[:120]}") from error


def _kept(reasoner: Reasoner, plain: Any) -> Kept:
    if plain["version"] != VERSION:
        raise VisitError(f"an exercise of format {plain['version']!r}; this program reads {VERSION}")
    if plain["knowledge"] != reasoner.kb.digest:
        raise VisitError("this exercise was drawn from other knowledge; it cannot be played again with this one")
    role: Role = "help_desk" if plain["role"] == "help_desk" else "technician"
    setup = Setup(role, plain["electrician"] is True, None, tuple(plain["devices"]), dict(plain["profile"]))
    gate = made_gate(reasoner, setup, tuple(plain["causes"]), str(plain["complaint"]), int(plain["seed"]))
    results = dict(plain["results"])
    wrong = [no.says for c, v in results.items() if (no := misfit(reasoner.kb, c, v))]
    if wrong or set(results) != set(gate.results):
        raise VisitError("its results do not fit the checks" + (f": {wrong[0]}" if wrong else ""))
    gate = replace(gate, results=results)
    return Kept(gate, tuple(from_plain(m) for m in plain["moves"]))
