"""Anything built from text once and kept by name, so that the next start need not build it again.

What is read runs as code (it is a pickle), so it is sealed with a key that lies elsewhere, in the user's data
folder, where nobody else can read it: whoever only writes the cache folder changes nothing. Data alone, as JSON,
would need no key, and took twice as long to read.
"""

import hmac
import os
import pickle
import secrets
import stat
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from platformdirs import user_cache_path, user_data_path

Kept = TypeVar("Kept")
KEY_BYTES = 32


def kept(name: str, kind: type[Kept], build: Callable[[], Kept]) -> Kept:
    """What an earlier start kept under `name`, else what `build` makes now.

    A stale, damaged or unwritable cache never matters. `name` must say everything that the content depends on.
    """
    path, key = user_cache_path("gate-diagnose") / f"{name}.pickle", _key()
    found = _read(path, kind, key) if key else None
    if found is None:
        found = build()
        with suppress(OSError):
            if key:
                body = pickle.dumps(found, protocol=5)
                _write(path, _seal(path, body, key) + b"\n" + body)
    return found


def _read(path: Path, kind: type[Kept], key: bytes) -> Kept | None:
    try:
        seal, _, body = path.read_bytes().partition(b"\n")
        if not hmac.compare_digest(seal, _seal(path, body, key)):
            return None
        found = pickle.loads(body)  # nobody else can have sealed it
    except Exception:  # a cache that cannot be read is only a cache that must be rebuilt
        return None
    return found if isinstance(found, kind) else None


def _seal(path: Path, body: bytes, key: bytes) -> bytes:
    """Of the content and of what it was kept as, so that one file cannot stand for another."""
    return hmac.new(key, path.name.encode() + b"\n" + body, "sha256").hexdigest().encode()


def _key() -> bytes:
    """Made at the first start; b'' where there can be none that is the user's alone: then nothing is kept."""
    path = user_data_path("gate-diagnose") / "cache.key"
    try:
        if not os.path.lexists(path):
            _write(path, secrets.token_bytes(KEY_BYTES))
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
        with os.fdopen(handle, "rb") as file:
            about = os.fstat(handle)
            others = about.st_uid != os.geteuid() or about.st_mode & 0o077 or not stat.S_ISREG(about.st_mode)
            key = b"" if others else file.read(KEY_BYTES + 1)
    except OSError:
        return b""
    return key if len(key) == KEY_BYTES else b""


def _write(path: Path, body: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, name = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(body)
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
