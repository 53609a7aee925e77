"""YAML text -> plain values with the line and column of every part. The only module that imports yaml.

Words stay words: `yes`, `no`, `on`, `off` and `12:30` are strings here, because a knowledge base about
relays and contacts must never see one of them turned into a boolean or a number behind the author's back.
Aliases, tags, several documents and duplicate keys are refused.
"""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import yaml

from diagnose.errors import printable
from diagnose.kb.files import MAX_BYTES
from diagnose.words import say

Path = tuple[str | int, ...]
MAX_DEPTH = 12
MOST_PROBLEMS = 200
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_INT = re.compile(r"[-+]?(0|[1-9][0-9]*)$")
_FLOAT = re.compile(r"[-+]?([0-9]+\.[0-9]*|\.[0-9]+|[0-9]+)([eE][-+]?[0-9]+)?$")
_WORDS: Mapping[str, Any] = {"true": True, "false": False, "": None, "~": None, "null": None}


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong, where it is (1-based) and what to do about it."""

    file: str
    line: int
    column: int
    says: str

    def __str__(self) -> str:
        return printable(f"{self.file}:{self.line}:{self.column}: {self.says}")


@dataclass(slots=True)
class Document:
    """Plain values plus a mark for every path in them; `problems` says what was refused."""

    file: str
    value: Any = None
    marks: dict[Path, tuple[int, int]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def problem(self, path: Path, says: str) -> Problem:
        """Problem at `path`, or at its nearest enclosing part when the path itself is missing."""
        while path and path not in self.marks:
            path = path[:-1]
        line, column = self.marks.get(path, (1, 1))
        return Problem(self.file, line, column, says)


class _Refused(Exception):
    def __init__(self, mark: Any, says: str) -> None:
        super().__init__(says)
        self.mark = mark


def parse(text: str, file: str) -> Document:
    """Parse one YAML document. Never raises: what is wrong stands in `problems`."""
    document = Document(file)
    if len(text.encode("utf-8", "replace")) > MAX_BYTES:
        document.problems.append(Problem(file, 1, 1, say("knowledge.file_large", most=f"{MAX_BYTES:,}")))
        return document
    try:
        events = yaml.parse(text, Loader=_LOADER)
        document.value = _document(events, document)
    except _Refused as refused:
        document.problems.append(Problem(file, refused.mark.line + 1, refused.mark.column + 1, str(refused)))
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        document.problems.append(
            Problem(file, line, column, say("knowledge.not_yaml", why=error.problem or error.context))
        )
    except (yaml.YAMLError, UnicodeError) as error:
        document.problems.append(Problem(file, 1, 1, say("knowledge.not_yaml", why=error)))
    return document


def _document(events: Iterator[Any], document: Document) -> Any:
    value: Any = None
    seen = 0
    for event in events:
        if isinstance(event, yaml.DocumentStartEvent):
            seen += 1
            if seen > 1:
                raise _Refused(event.start_mark, say("knowledge.one_document"))
            value = _value(next(events), events, (), document)
    return value


def _value(event: Any, events: Iterator[Any], path: Path, document: Document) -> Any:
    if isinstance(event, yaml.AliasEvent):
        raise _Refused(event.start_mark, say("knowledge.no_aliases"))
    if getattr(event, "tag", None):
        raise _Refused(event.start_mark, say("knowledge.no_tags", tag=repr(event.tag)))
    if len(path) > MAX_DEPTH:
        raise _Refused(event.start_mark, say("knowledge.too_deep", most=MAX_DEPTH))
    document.marks.setdefault(path, _place(event))
    if isinstance(event, yaml.ScalarEvent):
        return _scalar(event)
    if isinstance(event, yaml.SequenceStartEvent):
        return _sequence(events, path, document)
    return _mapping(events, path, document)


def _place(event: Any) -> tuple[int, int]:
    return event.start_mark.line + 1, event.start_mark.column + 1


def _scalar(event: Any) -> Any:
    text: str = event.value
    if not event.implicit[0] or event.style not in (None, ""):
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INT.match(text) and len(text) < 19:
        return int(text)
    number = float(text) if _FLOAT.match(text) else math.inf
    return number if math.isfinite(number) else text


def _sequence(events: Iterator[Any], path: Path, document: Document) -> list[Any]:
    items: list[Any] = []
    while not isinstance(event := next(events), yaml.SequenceEndEvent):
        items.append(_value(event, events, (*path, len(items)), document))
    return items


def _mapping(events: Iterator[Any], path: Path, document: Document) -> dict[str, Any]:
    mapping: dict[str, Any] = {}
    while not isinstance(event := next(events), yaml.MappingEndEvent):
        if not isinstance(event, yaml.ScalarEvent) or event.tag:
            raise _Refused(event.start_mark, say("knowledge.plain_key"))
        key, here = event.value, (*path, event.value)
        mark = _place(event)
        if key in mapping:
            first = document.marks[here][0]
            says = say("knowledge.key_twice", name=key, first=first)
            document.problems.append(Problem(document.file, *mark, says))
            if len(document.problems) >= MOST_PROBLEMS:
                raise _Refused(event.start_mark, say("knowledge.more_twice"))
        else:
            document.marks[here] = mark
        mapping[key] = _value(next(events), events, here, document)
    return mapping


def dumped(value: Any) -> str:
    """Plain values as YAML that `parse` reads back as they were; keys in the order given."""
    return str(yaml.safe_dump(value, sort_keys=False, allow_unicode=True, width=110))
