"""Where the knowledge lies, its text, and the digest that identifies it."""

import hashlib
from collections.abc import Mapping
from importlib import resources
from pathlib import Path

from diagnose.errors import KnowledgeError

PROFILE_FOLDER = "profiles"


def shipped_folder(name: str) -> Path:
    """`knowledge` or `transcripts_demo`: inside the wheel, else beside the package in a checkout."""
    package = Path(str(resources.files("diagnose")))
    for folder in (package / f"_{name}", package.parent / name):
        if folder.is_dir():
            return folder
    raise KnowledgeError(f"no {name} folder beside {package}; reinstall, or give --knowledge FOLDER")


def read_files(folder: Path) -> dict[str, str]:
    """All knowledge files below `folder`, by relative name, sorted. Profiles are left out."""
    try:
        paths = sorted(p for p in folder.rglob("*.yaml") if PROFILE_FOLDER not in p.relative_to(folder).parts)
        return {p.relative_to(folder).as_posix(): p.read_text("utf-8") for p in paths}
    except (OSError, UnicodeDecodeError) as error:
        raise KnowledgeError(f"cannot read the knowledge in {folder}: {error}") from error


def digest(files: Mapping[str, str]) -> str:
    """Identity of the content: any changed character changes it."""
    whole = hashlib.sha256()
    for name, text in files.items():
        whole.update(f"{name}\0{len(text)}\0{text}\0".encode())
    return whole.hexdigest()[:16]
