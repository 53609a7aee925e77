"""Device and site profiles from YAML files."""

from collections.abc import Iterable
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.kb.files import PROFILE_FOLDER, shipped_folder
from diagnose.kb.text import Document, parse
from diagnose.model.profile import Profile
from diagnose.model.visit import Value
from diagnose.session.profile_facts import LAMP, fact_problem
from diagnose.store.limited import limited_text
from diagnose.words import say

MAX_BYTES = 100_000


def load_profile(name: str) -> Profile:
    """A profile by file name, or by the id of a shipped one. Raises VisitError with every problem and its line."""
    folder = shipped_folder("knowledge") / PROFILE_FOLDER
    shipped = folder / f"{name}.yaml"
    try:
        path = shipped if shipped.is_file() and not Path(name).is_file() else Path(name)
        document = parse(limited_text(path, MAX_BYTES, say("store.a_profile")), path.name)
    except OSError as error:
        ids = ", ".join(sorted(p.stem for p in folder.glob("*.yaml")))
        raise VisitError(say("store.profile_not_read", name=repr(name), why=error.strerror, ids=ids)) from error
    except ValueError as error:  # no possible file name
        raise VisitError(say("store.no_profile_name", name=repr(name), why=error)) from error
    problems = [str(p) for p in document.problems] or _problems(document)
    if problems:
        raise VisitError("\n".join((say("store.profile_unusable", name=path.name), *problems)))
    head = document.value["profile"]
    facts = {k: float(v) if isinstance(v, int) else v for k, v in document.value.get("facts", {}).items()}
    lamps, invented, sensor = document.value.get("lamps", {}), head.get("invented", False), head.get("sensor", "")
    return Profile(head["id"], head["says"], head["kind"], facts, lamps, invented, sensor)


def profile_facts(names: Iterable[str]) -> dict[str, Value]:
    """The facts of several profiles, later ones winning, with each lamp's description as one more fact."""
    facts: dict[str, Value] = {}
    for profile in map(load_profile, names):
        facts |= {**profile.facts, **{LAMP + lamp: says for lamp, says in profile.lamps.items()}}
    return facts


def offered(given: Iterable[str]) -> dict[str, dict[str, str]]:
    """Profiles to choose from, the file by kind and id: the shipped ones and those given. Raises VisitError."""
    shipped = sorted((shipped_folder("knowledge") / PROFILE_FOLDER).glob("*.yaml"))
    found: dict[str, dict[str, str]] = {"device": {}, "site": {}}
    for name in (*map(str, shipped), *given):
        profile = load_profile(name)
        found[profile.kind][profile.id] = name
    return found


def _problems(document: Document) -> list[str]:
    value = document.value
    if not isinstance(value, dict) or not isinstance(value.get("profile"), dict):
        return [str(document.problem((), say("store.profile_sections")))]
    head, found = value["profile"], list[str]()
    for field in ("id", "says", "kind"):
        if not isinstance(head.get(field), str):
            found.append(str(document.problem(("profile", field), say("store.missing_text", field=field))))
    if head.get("kind") not in ("device", "site"):
        found.append(str(document.problem(("profile", "kind"), say("store.profile_kind"))))
    if not isinstance(head.get("sensor", ""), str):
        found.append(str(document.problem(("profile", "sensor"), say("store.profile_sensor"))))
    for section in value:
        if section not in ("profile", "facts", "lamps"):
            says = say("store.unknown_section", section=section)
            found.append(str(document.problem((section,), says)))
    return found + _table(document, "facts", "") + _table(document, "lamps", LAMP)


def _table(document: Document, section: str, prefix: str) -> list[str]:
    table = document.value.get(section, {})
    if not isinstance(table, dict):
        return [str(document.problem((section,), say("store.names_and_values", section=section)))]
    wrong = [(name, fact_problem(prefix + name, value)) for name, value in table.items()]
    return [str(document.problem((section, name), says)) for name, says in wrong if says]
