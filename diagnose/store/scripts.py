"""Replayable visits: a YAML script says who asks what and how each check would be answered."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ConfigDict, TypeAdapter, ValidationError

from diagnose.errors import VisitError
from diagnose.kb.text import parse
from diagnose.model.visit import Role, Setup
from diagnose.session.events import Begin
from diagnose.store.limited import limited_text
from diagnose.store.profiles import profile_facts
from diagnose.words import say

Lines = tuple[str, ...]
MAX_BYTES = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOverScript:
    """What somebody who takes the visit over would answer; `change` lines go to the check that is asked then."""

    electrician: bool = False
    answers: dict[str, Lines] = field(default_factory=dict)
    at_end: Lines = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """`answers`: check -> what is typed there, several lines when commands come before the answer.

    A check that is asked but has no answer here is answered with 'don't know', once; asked again, the script
    ends. `first` is volunteered before the first question. `taken_over`: a technician goes on after the call.
    """

    title: str
    invented: bool
    complaint: str
    words: str = ""
    site: str = ""
    role: Role = "technician"
    electrician: bool = False
    devices: Lines = ()
    profiles: Lines = ()
    first: dict[str, str | float] = field(default_factory=dict)
    answers: dict[str, Lines] = field(default_factory=dict)
    at_end: Lines = ()
    taken_over: TakeOverScript | None = None

    def begin(self, digest: str) -> Begin:
        """The opening event. Raises VisitError when a profile cannot be read."""
        profile = profile_facts(self.profiles)
        setup = Setup(role=self.role, electrician=self.electrician, devices=self.devices, profile=profile)
        return Begin(setup, self.complaint, self.words, self.site, digest)


TakeOverScript.__pydantic_config__ = ConfigDict(extra="forbid")  # type: ignore[attr-defined]
Script.__pydantic_config__ = ConfigDict(extra="forbid")  # type: ignore[attr-defined]


def load_script(path: Path) -> Script:
    """Read a script. Raises VisitError with every problem and its line."""
    try:
        document = parse(limited_text(path, MAX_BYTES, say("store.a_script")), path.name)
    except OSError as error:
        raise VisitError(say("store.cannot_read", path=path, why=error.strerror)) from error
    if document.problems:
        raise VisitError("\n".join(str(p) for p in document.problems))
    try:
        return TypeAdapter(Script).validate_python(_widened(document.value))
    except ValidationError as error:
        found = [str(document.problem(tuple(e["loc"]), f"{e['loc']}: {e['msg']}")) for e in error.errors()]
        raise VisitError("\n".join(found)) from error


def _widened(value: Any) -> Any:
    """Let one line stand for a list of one, and a number for the text of it."""
    if not isinstance(value, dict):
        return value
    wide = {k: _widened(v) if k == "taken_over" else v for k, v in value.items()}
    if isinstance(value.get("answers"), dict):
        given = value["answers"].items()
        wide["answers"] = {k: [str(x) for x in (v if isinstance(v, list) else [v])] for k, v in given}
    return wide
