"""Device and site profiles from YAML files."""

from pathlib import Path
from typing import Any

from diagnose.errors import VisitError
from diagnose.kb.files import PROFILE_FOLDER, shipped_folder
from diagnose.kb.text import Document, parse
from diagnose.model.profile import PROFILE_FACTS, Profile


def load_profile(name: str) -> Profile:
    """A profile by file name, or by the id of a shipped one. Raises VisitError with every problem and its line."""
    path = Path(name)
    shipped = shipped_folder("knowledge") / PROFILE_FOLDER / f"{name}.yaml"
    path = path if path.is_file() or not shipped.is_file() else shipped
    try:
        document = parse(path.read_text("utf-8"), path.name)
    except (OSError, UnicodeDecodeError) as error:
        raise VisitError(f"cannot read the profile {name!r}: {error}") from error
    problems = [str(p) for p in document.problems] or _problems(document)
    if problems:
        raise VisitError(f"the profile {path.name} cannot be used:\n" + "\n".join(problems))
    head = document.value["profile"]
    facts = {k: float(v) if isinstance(v, int) else v for k, v in document.value.get("facts", {}).items()}
    lamps = {str(k): str(v) for k, v in document.value.get("lamps", {}).items()}
    return Profile(head["id"], head["says"], head["kind"], facts, lamps, head.get("invented", False))


def _problems(document: Document) -> list[str]:
    value = document.value
    if not isinstance(value, dict) or not isinstance(value.get("profile"), dict):
        return [str(document.problem((), "a profile needs 'profile:' and 'facts:' sections"))]
    head, found = value["profile"], list[str]()
    for field in ("id", "says", "kind"):
        if not isinstance(head.get(field), str):
            found.append(str(document.problem(("profile", field), f"'{field}' is missing or not a text")))
    if head.get("kind") not in ("device", "site"):
        found.append(str(document.problem(("profile", "kind"), "kind must be device or site")))
    facts = value.get("facts", {})
    if not isinstance(facts, dict):
        return [*found, str(document.problem(("facts",), "'facts' must hold names and values"))]
    return found + [str(document.problem(("facts", n), says)) for n, v in facts.items() if (says := _fact(n, v))]


def _fact(name: str, value: Any) -> str:
    """What is wrong with one fact, or ''."""
    allowed = PROFILE_FACTS.get(name)
    if allowed is None:
        return f"unknown fact '{name}'; known: {', '.join(PROFILE_FACTS)}"
    if isinstance(allowed, tuple):
        return "" if value in allowed else f"'{name}' must be one of {', '.join(allowed)}"
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return "" if number else f"'{name}' must be a number in {allowed}"
