"""Where the knowledge lies, its text, and the digest that identifies it."""

import hashlib
import stat
from collections.abc import Mapping
from pathlib import Path

from diagnose.errors import KnowledgeError
from diagnose.words import say

MAX_BYTES = 4_000_000  # of one file of knowledge

PROFILE_FOLDER = "profiles"
# Beside the knowledge, and never read by the reasoning.
APART = (PROFILE_FOLDER, "cases", "coverage", "safety", "review")
PICTURES = "pictures/*.svg"


def shipped_folder(name: str) -> Path:
    """`knowledge` or `transcripts_demo`: inside the wheel, else beside the package in a checkout."""
    package = Path(__file__).parents[1]
    for folder in (package / f"_{name}", package.parent / name):
        if folder.is_dir():
            return folder
    raise KnowledgeError(say("knowledge.no_folder", name=name, package=package))


def read_files(folder: Path) -> dict[str, str]:
    """All knowledge files below `folder` and its pictures, by relative name, sorted; without the folders of APART."""
    try:
        entries = [p for p in folder.rglob("*.yaml") if p.relative_to(folder).parts[0] not in APART]
        paths = sorted([*entries, *folder.glob(PICTURES)])
        return {p.relative_to(folder).as_posix(): _text(p, folder) for p in paths}
    except OSError as error:
        raise KnowledgeError(say("knowledge.not_read", folder=folder, why=error)) from error


def _text(path: Path, folder: Path) -> str:
    try:
        return plain_text(path)
    except UnicodeDecodeError as error:
        raise KnowledgeError(no_text(path.relative_to(folder).as_posix(), error)) from error


def plain_text(path: Path) -> str:
    """The text of a file. What is none - a pipe, a device - would be waited for, or read without an end.

    Raises OSError, UnicodeDecodeError, KnowledgeError.
    """
    told = path.stat()
    if not stat.S_ISREG(told.st_mode) or told.st_size > MAX_BYTES:
        raise KnowledgeError(say("knowledge.no_plain_file", name=path.name, most=f"{MAX_BYTES:,}"))
    return path.read_text("utf-8")


def no_text(file: str, error: UnicodeDecodeError) -> str:
    """Says where a file is not UTF-8, as file:line:column."""
    before = error.object[: error.start]
    line, column = before.count(b"\n") + 1, error.start - before.rfind(b"\n")
    return say("knowledge.no_utf8", file=file, line=line, column=column)


def digest(files: Mapping[str, str]) -> str:
    """Identity of the content: any changed character changes it."""
    whole = hashlib.sha256()
    for name, text in files.items():
        whole.update(f"{name}\0{len(text)}\0{text}\0".encode())
    return whole.hexdigest()[:16]


def is_shipped(folder: Path, content: str) -> bool:
    """Whether the knowledge of this digest is what came with the program, wherever it lies."""
    shipped = shipped_folder("knowledge")
    return folder.resolve() == shipped.resolve() or content == digest(read_files(shipped))
