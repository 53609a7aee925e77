"""Anything built from text once and kept by name, so that the next start need not build it again."""

import hashlib
import os
import pickle
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from platformdirs import user_cache_path

Kept = TypeVar("Kept")


def kept(name: str, kind: type[Kept], build: Callable[[], Kept]) -> Kept:
    """What an earlier start kept under `name`, else what `build` makes now.

    A stale, damaged or unwritable cache never matters. `name` must say everything that the content depends on.
    """
    path = user_cache_path("gate-diagnose") / f"{name}.pickle"
    found = _read(path, kind)
    if found is None:
        found = build()
        with suppress(OSError):
            _write(path, pickle.dumps(found, protocol=5))
    return found


def _read(path: Path, kind: type[Kept]) -> Kept | None:
    try:
        seal, _, body = path.read_bytes().partition(b"\n")
        if seal != _seal(path, body):
            return None
        found = pickle.loads(body)  # our own file in the user's own cache folder, sealed above
    except Exception:  # a cache that cannot be read is only a cache that must be rebuilt
        return None
    return found if isinstance(found, kind) else None


def _seal(path: Path, body: bytes) -> bytes:
    """Of the content and of what it was kept as, so that one file cannot stand for another."""
    return hashlib.sha256(path.name.encode() + b"\n" + body).hexdigest().encode()


def _write(path: Path, body: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, name = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(_seal(path, body) + b"\n" + body)
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
