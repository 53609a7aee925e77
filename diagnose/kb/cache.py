"""The knowledge, compiled once and kept by digest, so that start-up needs neither YAML nor pydantic."""

import hashlib
import os
import pickle
import tempfile
from contextlib import suppress
from dataclasses import fields, is_dataclass
from pathlib import Path

from platformdirs import user_cache_path

from diagnose import __version__
from diagnose.errors import KnowledgeError
from diagnose.kb.files import digest, read_files
from diagnose.model import knowledge as model
from diagnose.model.knowledge import KnowledgeBase


def load_knowledge(folder: Path) -> KnowledgeBase:
    """The checked knowledge base in `folder`.

    Raises KnowledgeError with every problem when it does not pass the check. A stale, damaged or unwritable
    cache never matters: the knowledge is then built from its text.
    """
    files = read_files(folder)
    content = digest(files)
    cached = user_cache_path("gate-diagnose") / f"knowledge-{__version__}-{record_shape()}-{content}.pickle"
    return _read(cached, content) or _build(files, content, cached)


def record_shape() -> str:
    """Identity of the records' fields. A pickle of other fields would load without a word, its values shifted."""
    records = {name: list(fields(r)) for name, r in vars(model).items() if isinstance(r, type) and is_dataclass(r)}
    shape = [(name, [f.name for f in inside]) for name, inside in sorted(records.items())]
    return hashlib.sha256(repr(shape).encode()).hexdigest()[:8]


def _read(cached: Path, content: str) -> KnowledgeBase | None:
    try:
        seal, _, body = cached.read_bytes().partition(b"\n")
        if hashlib.sha256(body).hexdigest().encode() != seal:
            return None
        kb = pickle.loads(body)  # our own file in the user's own cache folder, sealed above
    except Exception:  # a cache that cannot be read is only a cache that must be rebuilt
        return None
    return kb if isinstance(kb, KnowledgeBase) and kb.digest == content else None


def _build(files: dict[str, str], content: str, cached: Path) -> KnowledgeBase:
    from diagnose.kb.check import problems_of
    from diagnose.kb.load import assemble, load_entries

    loaded = load_entries(files)
    problems = problems_of(loaded)
    if problems:
        listed = tuple(str(p) for p in problems)
        raise KnowledgeError(f"the knowledge base has {len(listed)} problem(s); run 'diagnose check'", listed)
    kb = assemble(loaded, content)
    with suppress(OSError):
        _write(cached, pickle.dumps(kb, protocol=5))
    return kb


def _write(cached: Path, body: bytes) -> None:
    cached.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, name = tempfile.mkstemp(dir=cached.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
        Path(name).replace(cached)
    finally:
        Path(name).unlink(missing_ok=True)
