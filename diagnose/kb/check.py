"""The knowledge check: everything a schema cannot see, reported all at once."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from diagnose.kb import lint_causes, lint_checks, lint_numbers, lint_rules
from diagnose.kb.files import read_files
from diagnose.kb.load import Loaded, assemble, load_entries
from diagnose.kb.text import Problem
from diagnose.model.knowledge import KnowledgeBase

Path_ = tuple[str | int, ...]
Lint = Callable[[KnowledgeBase], Iterator[tuple[Path_, str]]]
LINTS: tuple[Lint, ...] = (*lint_causes.LINTS, *lint_checks.LINTS, *lint_numbers.LINTS, *lint_rules.LINTS)


def problems_of(loaded: Loaded) -> list[Problem]:
    """Every problem of a loaded knowledge base, sorted by place. Lints run on the entries that validated."""
    problems = list(loaded.problems)
    if all(loaded.singles.get(name) for name in ("scales", "settings")):
        kb = assemble(loaded, "unchecked")
        for lint in LINTS:
            problems += [loaded.problem(path, says) for path, says in lint(kb)]
    return sorted(set(problems))


def main(folder: str) -> int:
    loaded = load_entries(read_files(Path(folder)))
    problems = problems_of(loaded)
    for problem in problems:
        print(problem)
    counts = ", ".join(f"{len(entries)} {section}" for section, entries in loaded.entries.items())
    print(f"{len(problems)} problem(s); {counts}, {len(loaded.pictures)} pictures")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
