"""The knowledge check: everything a schema cannot see, reported all at once."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from diagnose.errors import KnowledgeError
from diagnose.kb import (
    lint_callers,
    lint_causes,
    lint_checks,
    lint_dangers,
    lint_effects,
    lint_gear,
    lint_heard,
    lint_lesson,
    lint_log,
    lint_numbers,
    lint_proofs,
    lint_rules,
)
from diagnose.kb.files import plain_text, read_files
from diagnose.kb.load import Loaded, assemble, load_entries
from diagnose.kb.places import misplaced
from diagnose.kb.review import SEALED, seals
from diagnose.kb.safety import FILE, Register, safety_of
from diagnose.kb.schema import SINGLES
from diagnose.kb.text import Problem, parse
from diagnose.kb.weaker import weakened
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say

Path_ = tuple[str | int, ...]
Lint = Callable[[KnowledgeBase], Iterator[tuple[Path_, str]]]
LINTS: tuple[Lint, ...] = (
    *lint_causes.LINTS,
    *lint_callers.LINTS,
    *lint_effects.LINTS,
    *lint_gear.LINTS,
    *lint_heard.LINTS,
    *lint_lesson.LINTS,
    *lint_checks.LINTS,
    *lint_dangers.LINTS,
    *lint_log.LINTS,
    *lint_numbers.LINTS,
    *lint_proofs.LINTS,
    *lint_rules.LINTS,
)


def problems_of(loaded: Loaded) -> list[Problem]:
    """Every problem of a loaded knowledge base, sorted by place. Lints run on the entries that validated."""
    problems = [*loaded.problems, *misplaced(loaded)]
    if all(loaded.singles.get(name) for name in SINGLES):
        kb = assemble(loaded, "unchecked")
        for lint in LINTS:
            problems += [loaded.problem(path, says) for path, says in lint(kb)]
    return sorted(set(problems))


def weak_points(loaded: Loaded, folder: Path) -> list[Problem]:
    """Entries that are weaker than the register beside the knowledge says, or not registered; none without one."""
    if not (folder / FILE).exists():
        return []
    return [
        loaded.problem(tuple(entry.split(".")), says)
        for entry, says in weakened(read_register(folder), _registered(loaded))
    ]


def _registered(loaded: Loaded) -> Register:
    """The safety fields, and a seal on every section: what no field tells, somebody has read."""
    return {**safety_of(assemble(loaded, "unchecked")), SEALED: seals(loaded)}


def read_register(folder: Path) -> Register:
    """The register beside a knowledge folder. Raises KnowledgeError where it is none."""
    path = folder / FILE
    try:
        document = parse(plain_text(path), FILE)
    except (OSError, UnicodeDecodeError) as error:
        raise KnowledgeError(say("store.cannot_read", path=path, why=error)) from error
    fits = isinstance(document.value, dict) and all(isinstance(v, dict) for v in document.value.values())
    if document.problems or not fits:
        raise KnowledgeError(
            say("knowledge.no_register", path=path),
            tuple(map(str, document.problems)),
        )
    return dict(document.value)


def safety_register(folder: Path) -> Register:
    """The safety fields of a knowledge folder that passes its lints otherwise."""
    loaded = load_entries(read_files(folder))
    if problems := problems_of(loaded):
        raise KnowledgeError(
            say("knowledge.folder_has_problems", folder=folder, problems=len(problems)), tuple(map(str, problems))
        )
    return _registered(loaded)


def main(folder: str) -> int:
    loaded = load_entries(read_files(Path(folder)))
    problems = problems_of(loaded)
    if not problems:
        problems = weak_points(loaded, Path(folder))
    for problem in problems:
        print(problem)
    counts = ", ".join(f"{len(entries)} {section}" for section, entries in loaded.entries.items())
    shown = {"problems": len(problems), "counts": counts, "pictures": len(loaded.pictures)}
    print(say("knowledge.counted", **shown))
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
