"""The knowledge, compiled once and kept by digest, so that start-up needs neither YAML nor pydantic."""

import hashlib
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

from diagnose import __version__
from diagnose.caching import kept
from diagnose.errors import KnowledgeError
from diagnose.kb.files import digest, is_shipped, read_files
from diagnose.kb.languages import in_words_of
from diagnose.model import knowledge as model
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say, spoken


def load_knowledge(folder: Path) -> KnowledgeBase:
    """The checked knowledge base in `folder`, in the language that is spoken as far as a file beside it says so.

    Raises KnowledgeError with every problem when it does not pass the check.
    """
    kb = in_words_of(load_english(folder), folder, spoken().language)
    return kb if is_shipped(folder, kb.digest) else replace(kb, own=True)


def load_english(folder: Path) -> KnowledgeBase:
    """The same in the words that its own files use."""
    files = read_files(folder)
    content = digest(files)
    name = f"knowledge-{__version__}-{record_shape()}-{content}"
    return kept(name, KnowledgeBase, lambda: _build(files, content))


def record_shape() -> str:
    """Identity of the records' fields. A pickle of other fields would load without a word, its values shifted."""
    records = {name: list(fields(r)) for name, r in vars(model).items() if isinstance(r, type) and is_dataclass(r)}
    shape = [(name, [f.name for f in inside]) for name, inside in sorted(records.items())]
    return hashlib.sha256(repr(shape).encode()).hexdigest()[:8]


def _build(files: dict[str, str], content: str) -> KnowledgeBase:
    from diagnose.kb.check import problems_of
    from diagnose.kb.load import assemble, load_entries

    loaded = load_entries(files)
    problems = problems_of(loaded)
    if problems:
        listed = tuple(str(p) for p in problems)
        raise KnowledgeError(say("knowledge.base_has_problems", problems=len(listed)), listed)
    return assemble(loaded, content)
