"""Plain values -> model records, by pydantic, with every problem reported at its own line."""

import sys
from dataclasses import fields, is_dataclass
from typing import Any, get_type_hints

from pydantic import ConfigDict, TypeAdapter, ValidationError

from diagnose.kb.text import Document, Path, Problem
from diagnose.model import heard, named, rules, settings
from diagnose.model import knowledge as model
from diagnose.words import say

SECTIONS: dict[str, type[Any]] = {
    "sources": named.Source,
    "cautions": named.Caution,
    "dangers": named.DangerousWork,
    "duties": named.Duty,
    "access": named.Access,
    "complaints": named.Complaint,
    "effects": model.Effect,
    "causes": model.Cause,
    "checks": model.Check,
    "rules": rules.Rule,
    "calculations": rules.Calculation,
    "subjects": named.Subject,
    "kinds": named.Kind,
    "proofs": named.Proof,
    "families": named.Family,
    "links": named.Link,
    "heard": heard.Hearing,
    "terms": named.Term,
    "walk": named.WalkStep,
    "examples": named.WorkedGate,
}
WORD_TABLES = ("traits", "tools")
SINGLES: dict[str, type[Any]] = {"scales": settings.Scales, "settings": settings.Settings, "trip_log": named.TripLog}
MAY_LACK: dict[str, type[Any]] = {"speech": heard.Speech}  # without it nothing is heard in words

_ADAPTERS: dict[type[Any], TypeAdapter[Any]] = {}


def _adapter(record: type[Any]) -> TypeAdapter[Any]:
    """Validates into the record; a field that it, or another record of its module, does not name is a problem."""
    if record not in _ADAPTERS:
        for each in vars(sys.modules[record.__module__]).values():
            if isinstance(each, type) and is_dataclass(each):
                each.__pydantic_config__ = ConfigDict(extra="forbid")  # type: ignore[attr-defined]
        _ADAPTERS[record] = TypeAdapter(record)
    return _ADAPTERS[record]


def build(record: type[Any], value: Any, path: Path, document: Document) -> tuple[Any, list[Problem]]:
    """Validate `value` into `record`. Returns (record, []) or (None, every problem found)."""
    try:
        return _adapter(record).validate_python(value), []
    except ValidationError as error:
        return None, [_problem(e, record, path, document) for e in error.errors(include_url=False)]


def _problem(error: Any, record: type[Any], path: Path, document: Document) -> Problem:
    loc = tuple(part for part in error["loc"] if part != "[key]")
    name = ".".join(str(part) for part in loc)
    match error["type"]:
        case "unexpected_keyword_argument" | "extra_forbidden":
            says = say("knowledge.unknown_field", name=name, known=_known(record, loc))
        case "missing" | "missing_keyword_only_argument":
            says = say("knowledge.missing_field", name=name)
        case _:
            says = f"'{name}': {error['msg']} (found {str(error['input'])[:60]!r})"
    return document.problem((*path, *loc), says)


def _known(record: type[Any], loc: tuple[Any, ...]) -> str:
    for part in loc[:-1]:
        hint = get_type_hints(record).get(str(part)) if is_dataclass(record) else None
        options = [hint, *getattr(hint, "__args__", ())]
        record = next((o for o in options if isinstance(o, type) and is_dataclass(o)), record)
    return ", ".join(f.name for f in fields(record) if f.name != "id")
