"""Field cases from their files, with every problem of form at its file:line:column. Reads no answer's meaning."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.cases.model import FieldCase
from diagnose.errors import KnowledgeError
from diagnose.kb.files import no_text, plain_text, shipped_folder
from diagnose.kb.schema import build
from diagnose.kb.text import Document, Problem, parse
from diagnose.words import say

FOLDER = "cases"
MAX_BYTES = 200_000


@dataclass(frozen=True, slots=True)
class Filed:
    """One file: its case (None where its form is wrong), the place of every part, and the problems of form."""

    path: Path
    case: FieldCase | None
    document: Document
    problems: tuple[Problem, ...] = ()

    def problem(self, path: tuple[str | int, ...], says: str) -> Problem:
        return self.document.problem(path, says)


def shipped_cases() -> Path:
    """The folder of the cases that ship with the knowledge."""
    return shipped_folder("knowledge") / FOLDER


def case_files(folder: Path) -> list[Path]:
    """Every case file of a folder, by name."""
    return sorted(folder.glob("*.yaml"))


def read_all(paths: Iterable[Path]) -> Iterator[Filed]:
    return (read_case(path) for path in paths)


def read_case(path: Path) -> Filed:
    """One file. Raises KnowledgeError where it cannot be read at all; what is wrong in it stands in `problems`."""
    document = parse(text_of(path, MAX_BYTES), path.name)
    if document.problems:
        return Filed(path, None, document, tuple(document.problems))
    if not isinstance(document.value, dict):
        return Filed(path, None, document, (Problem(path.name, 1, 1, say("cases.needs_keys")),))
    case, problems = build(FieldCase, _normal(document.value), (), document)
    return Filed(path, case, document, tuple(problems))


def text_of(path: Path, most: int) -> str:
    """A file's text. Raises KnowledgeError where it cannot be read, is larger than `most` bytes, or no UTF-8."""
    try:
        if path.stat().st_size > most:
            raise KnowledgeError(say("cases.file_large", name=path.name, most=f"{most:,}"))
        return plain_text(path)
    except UnicodeDecodeError as error:
        raise KnowledgeError(no_text(path.name, error)) from error
    except OSError as error:
        raise KnowledgeError(say("store.cannot_read", path=path, why=error.strerror)) from error


def _normal(value: dict[str, Any]) -> dict[str, Any]:
    """Let a single word stand for a list of one."""
    gear = value.get("gear")
    if isinstance(gear, list):
        value = {**value, "gear": [_listed(g, "job") if isinstance(g, dict) else g for g in gear]}
    encoded = value.get("encoded")
    return {**value, "encoded": _listed(encoded, "complaints")} if isinstance(encoded, dict) else value


def _listed(table: dict[str, Any], name: str) -> dict[str, Any]:
    return {**table, name: [table[name]]} if isinstance(table.get(name), str) else table


def read_folder(folder: Path) -> list[FieldCase]:
    """Every case of a folder. Raises KnowledgeError with every problem of form."""
    filed = list(read_all(case_files(folder)))
    if problems := [str(p) for f in filed for p in f.problems]:
        raise KnowledgeError(say("cases.form_problems", folder=folder, problems=len(problems)), tuple(problems))
    if not filed:
        raise KnowledgeError(say("cases.no_case", folder=folder))
    return [f.case for f in filed if f.case]
