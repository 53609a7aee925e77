"""Cases that a trainer writes: a YAML file says what is wrong at which gate, and what single checks show."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ConfigDict, TypeAdapter, ValidationError
from rapidfuzz import fuzz, process

from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.kb.text import Document, parse
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Role, Setup
from diagnose.practice.bench import after_of
from diagnose.practice.exercise import begin, best_from
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.ladder import Lesson
from diagnose.session.grounds import misfit
from diagnose.store.limited import limited_text
from diagnose.store.profiles import profile_facts
from diagnose.words import say

Lines = tuple[str, ...]
MAX_BYTES = 200_000
NEAR = 70.0  # of 100: an id this alike may have been meant; judgement


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeCase:
    """`causes`: one or two. `shows`: check -> what it shows, over what the seed draws. `story`: told afterwards.

    `typed` are a trainee's lines, for a demonstration.
    """

    title: str
    invented: bool
    complaint: str
    causes: Lines
    words: str = ""
    seed: int = 1
    role: Role = "technician"
    electrician: bool = False
    devices: Lines = ()
    profiles: Lines = ()
    shows: dict[str, str | float] = field(default_factory=dict)
    story: str = ""
    hints: int = 3
    typed: Lines = ()

    @property
    def lesson(self) -> Lesson:
        """The case in the place of a lesson; it counts for its families, but for no rung of the ladder."""
        return Lesson("case", len(self.causes), None, self.hints, title=self.title)


PracticeCase.__pydantic_config__ = ConfigDict(extra="forbid")  # type: ignore[attr-defined]


def load_case(path: Path) -> PracticeCase:
    """Read a case. Raises VisitError with every problem of its form and its line."""
    return _case(_document(path))


def _document(path: Path) -> Document:
    try:
        document = parse(limited_text(path, MAX_BYTES, say("practice.a_case")), path.name)
    except OSError as error:
        raise VisitError(say("store.cannot_read", path=path, why=error.strerror)) from error
    if document.problems:
        raise VisitError("\n".join(map(str, document.problems)))
    return document


def _case(document: Document) -> PracticeCase:
    try:
        return TypeAdapter(PracticeCase).validate_python(document.value)
    except ValidationError as error:
        found = [str(document.problem(tuple(e["loc"]), f"{e['loc']}: {e['msg']}")) for e in error.errors()]
        raise VisitError("\n".join(found)) from error


def check_case(reasoner: Reasoner, path: Path) -> list[str]:
    """Every problem of a case against the knowledge, with file:line:column; none: it can be practised."""
    document = _document(path)
    case = _case(document)
    found = [str(document.problem(place, says)) for place, says in _problems(reasoner.kb, case)]
    return found or _unworkable(reasoner, case, document)


def _problems(kb: KnowledgeBase, case: PracticeCase) -> list[tuple[tuple[str | int, ...], str]]:
    found: list[tuple[tuple[str | int, ...], str]] = []
    if case.complaint not in kb.complaints:
        found.append((("complaint",), _unknown("complaint", case.complaint, kb.complaints)))
    if len(set(case.causes)) != len(case.causes) or len(case.causes) not in (1, 2):
        found.append((("causes",), say("practice.case_causes")))
    found += [
        (("causes", i), _unknown("cause", c, kb.causes)) for i, c in enumerate(case.causes) if c not in kb.causes
    ]
    strange = ((i, d) for i, d in enumerate(case.devices) if d not in kb.devices)
    found += [(("devices", i), _unknown("device", d, kb.devices)) for i, d in strange]
    found += [(("shows", c), no.says) for c, v in case.shows.items() if (no := misfit(kb, c, _number(v)))]
    if not case.invented:
        found.append((("invented",), say("practice.case_invented")))
    if not 0 <= case.hints <= 3:
        found.append((("hints",), say("practice.case_hints")))
    if case.seed < 0:
        found.append((("seed",), say("practice.case_seed")))
    return found


def _unknown(what: str, name: str, known: Iterable[str]) -> str:
    """That there is no such id, with the nearest one where one is near."""
    near = process.extractOne(name, list(known), scorer=fuzz.ratio, score_cutoff=NEAR)
    return " ".join(
        (say(f"practice.case_{what}", name=name), *([say("practice.meant", name=near[0])] if near else ()))
    )


def _number(value: str | float) -> str | float:
    return value if isinstance(value, str) else float(value)


def _unworkable(reasoner: Reasoner, case: PracticeCase, document: Document) -> list[str]:
    """Whether the gate can be made, no answer denies a true cause, and the best policy can mend it."""
    try:
        gate = gate_of(reasoner, case)
    except DiagnoseError as error:
        return [str(document.problem(("causes",), str(error)))]
    denied = set(after_of(reasoner.kb, gate.setup, gate.complaint, gate.results).excluded) & set(gate.truth)
    if denied:
        says = say("practice.case_denied", causes=", ".join(sorted(denied)))
        return [str(document.problem(("shows",), says))]
    if best_from(reasoner, begin(reasoner, gate)).gate.truth:
        return [str(document.problem(("causes",), say("practice.case_unfound")))]
    return []


def gate_of(reasoner: Reasoner, case: PracticeCase) -> Gate:
    """The gate of a case. Raises DiagnoseError when its causes cannot occur there."""
    setup = Setup(case.role, case.electrician, None, case.devices, profile_facts(case.profiles))
    shows = {c: _number(v) for c, v in case.shows.items()}
    return made_gate(reasoner, setup, case.causes, case.complaint, case.seed, shows=shows)
