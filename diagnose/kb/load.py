"""A folder of YAML files -> KnowledgeBase, or every problem at once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from diagnose.calc.registry import FOR_RULES
from diagnose.kb.pictures import picture_id, picture_problems
from diagnose.kb.schema import MAY_LACK, SECTIONS, SINGLES, WORD_TABLES, build
from diagnose.kb.text import MOST_PROBLEMS, Document, Problem, parse
from diagnose.model.knowledge import Check, Finding, KnowledgeBase
from diagnose.model.named import Kind
from diagnose.model.rules import Calculation
from diagnose.words import say


@dataclass(slots=True)
class Loaded:
    """Entries by section and id, where each came from, and what was wrong."""

    entries: dict[str, dict[str, Any]] = field(default_factory=lambda: {s: {} for s in (*SECTIONS, *WORD_TABLES)})
    singles: dict[str, Any] = field(default_factory=dict)
    pictures: dict[str, str] = field(default_factory=dict)
    origin: dict[tuple[str, ...], Document] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def problem(self, path: tuple[str | int, ...], says: str) -> Problem:
        """Problem at ('causes', 'some_id', 'remedy', ...), in the file that holds it."""
        document = self.origin.get(tuple(map(str, path[:2]))) or self.origin.get((str(path[0]),))
        return document.problem(path, says) if document else Problem("knowledge", 1, 1, says)


def load_entries(files: Mapping[str, str]) -> Loaded:
    """Parse and validate every file; never stops at the first problem."""
    loaded = Loaded()
    for name, text in files.items():
        if picture := picture_id(name):
            _picture(picture, name, text, loaded)
            continue
        document = parse(text, name)
        loaded.problems += document.problems
        if isinstance(document.value, dict):
            for section, body in document.value.items():
                _section(section, body, document, loaded)
        elif not document.problems:
            loaded.problems.append(Problem(name, 1, 1, say("knowledge.needs_sections")))
    for single in SINGLES:
        if single not in loaded.singles and not any(single in p.says for p in loaded.problems):
            loaded.problems.append(Problem("knowledge", 1, 1, say("knowledge.no_section", single=single)))
    return loaded


def _picture(picture: str, name: str, text: str, loaded: Loaded) -> None:
    loaded.pictures[picture] = text
    loaded.origin["pictures", picture] = Document(name)
    loaded.problems += picture_problems(text, name)


def _section(section: str, body: Any, document: Document, loaded: Loaded) -> None:
    singles = SINGLES | MAY_LACK
    if section in singles:
        if _first(loaded, (section,), document):
            loaded.singles[section], problems = build(singles[section], body, (section,), document)
            loaded.problems += problems
    elif section not in loaded.entries:
        known = ", ".join((*SECTIONS, *WORD_TABLES, *singles))
        loaded.problems.append(
            document.problem((section,), say("knowledge.unknown_section", section=section, known=known))
        )
    elif not isinstance(body, dict):
        loaded.problems.append(document.problem((section,), say("knowledge.needs_entries", section=section)))
    else:
        for entry_id, value in body.items():
            if len(loaded.problems) >= MOST_PROBLEMS:
                return
            _entry(section, entry_id, value, document, loaded)


def _entry(section: str, entry_id: str, value: Any, document: Document, loaded: Loaded) -> None:
    path = (section, entry_id)
    if not _first(loaded, path, document):
        return
    record, problems = _validated(section, entry_id, value, document)
    loaded.problems += problems
    if record is not None:
        loaded.entries[section][entry_id] = record


def _first(loaded: Loaded, path: tuple[str, ...], document: Document) -> bool:
    """Whether this is the first definition of `path`; a second one is a problem."""
    other = loaded.origin.setdefault(path, document)
    if other is document:
        return True
    there = str(other.problem(path, "")).rstrip(": ")
    loaded.problems.append(document.problem(path, say("knowledge.defined_twice", name=path[-1], there=there)))
    return False


def _validated(section: str, entry_id: str, value: Any, document: Document) -> tuple[Any, list[Problem]]:
    path = (section, entry_id)
    if not entry_id.replace("_", "").isalnum() or not entry_id.islower():
        return None, [document.problem(path, say("knowledge.wrong_id", name=entry_id))]
    if section in WORD_TABLES:
        ok = isinstance(value, str) and value
        return (value, []) if ok else (None, [document.problem(path, f"'{entry_id}' needs a text")])
    if not isinstance(value, dict):
        return None, [document.problem(path, say("knowledge.needs_fields", name=entry_id))]
    return build(SECTIONS[section], {**_normal(section, value), "id": entry_id}, path, document)


def _normal(section: str, value: dict[str, Any]) -> dict[str, Any]:
    """Let a single word stand for a list of one in conditions and in finding states."""
    conditions = {"rules": ("when",), "checks": ("only_if",), "proofs": ("when",)}.get(section, ())
    wide = {k: _widen(v) if k in conditions else v for k, v in value.items()}
    if isinstance(finding := wide.get("finding"), dict) and "states" in finding:
        wide["finding"] = {**finding, "states": _states(finding["states"])}
    return wide


def _widen(mapping: Any) -> Any:
    if not isinstance(mapping, dict):
        return mapping
    return {k: v if isinstance(v, list) else [v] for k, v in mapping.items()}


def _states(states: Any) -> Any:
    return {s: [s] for s in states} if isinstance(states, list) else _widen(states)


def assemble(loaded: Loaded, content_digest: str) -> KnowledgeBase:
    """Records -> KnowledgeBase; the finding inside a check gets the check's id, a trait becomes the kinds with it,
    and a check is the site's or a device's as its subject is."""
    kinds = loaded.entries["kinds"]
    entries = loaded.entries | {s: _for_kinds(loaded.entries[s], kinds) for s in ("causes", "checks")}
    of = {s.prefix: s.of for s in entries["subjects"].values()}
    checks = {i: _with_finding(replace(c, of=c.of or _of(i, of))) for i, c in sorted(entries["checks"].items())}
    findings = {c.finding.id: c.finding for c in checks.values() if c.finding}
    tables: dict[str, Any] = {s: dict(sorted(entries[s].items())) for s in (*SECTIONS, *WORD_TABLES)}
    tables |= {"checks": checks, "findings": findings, "pictures": dict(sorted(loaded.pictures.items()))}
    tables["calculations"] = _with_units(tables["calculations"], checks.values())
    tables |= {s: dict(entries[s]) for s in ("links", "walk")}  # as written: their order is the signal's
    return KnowledgeBase(digest=content_digest, **tables, **loaded.singles)


def _with_units(calculations: Mapping[str, Calculation], checks: Iterable[Check]) -> dict[str, Calculation]:
    """A calculation that says its numbers says them in the unit of the first reading that it is given."""
    units = {c.fills or c.id: c.unit for c in checks if c.unit}
    says = {name for name, each in FOR_RULES.items() if any(i.name == "unit" for i in each.inputs)}
    return {
        i: replace(c, unit=c.unit or _unit(c, units)) if c.calculator in says else c for i, c in calculations.items()
    }


def _unit(calculation: Calculation, units: Mapping[str, str]) -> str:
    return next((units[fact] for fact in calculation.inputs.values() if fact in units), "")


def _of(check: str, of: Mapping[str, str]) -> str:
    """Whose the checks of the subject are: the one with the id's prefix, else the one without."""
    return of.get(check.split("_")[0]) or of.get("", "site")


def _for_kinds(entries: Mapping[str, Any], kinds: Mapping[str, Kind]) -> dict[str, Any]:
    """Every entry with kinds only; a word that is neither kind nor a kind's trait stays, for the check to report."""
    having = {t: [k.id for k in kinds.values() if t in k.traits] for kind in kinds.values() for t in kind.traits}
    return {
        i: replace(e, devices=tuple(dict.fromkeys(k for word in e.devices for k in having.get(word, [word]))))
        for i, e in entries.items()
    }


def _with_finding(check: Any) -> Any:
    if check.finding is None:
        return check
    found: Finding = check.finding
    full = replace(
        found,
        id=check.id,
        check=check.id,
        fact=found.fact or check.fills or check.id,
        says=found.says or check.ask,
        source=found.source or check.source,
    )
    return replace(check, finding=full)
