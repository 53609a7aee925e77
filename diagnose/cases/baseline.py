"""Recorded figures of the learning half: a change that lowers one by more than its noise is noticed.

The noise is taken on the cases themselves: the same cases are played before and after, so a figure falls by more than
noise when the cases that lost it outnumber those that won it beyond what the sign test allows (one-sided, 5 %).
"""

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.cases.result import Result
from diagnose.errors import KnowledgeError

LEVEL = 0.05
YES: Mapping[str, Callable[[Result], bool]] = {
    "first": lambda r: r.first,
    "first three": lambda r: r.first_three,
    "first when a remedy is chosen": lambda r: r.at_remedy is not None and r.at_remedy.rank == 1,
    "right at the first remedy": lambda r: r.first_remedy_right,
    "mended": lambda r: r.mended,
    "no doubt against a true answer": lambda r: not r.doubted,
    "nothing asked again for nothing": lambda r: not any(t.for_nothing for t in r.told),
    "nothing forbidden": lambda r: not r.forbidden,
}
Record = Mapping[str, Mapping[str, bool]]  # case -> figure -> whether it holds


@dataclass(frozen=True, slots=True)
class Change:
    """One figure before and after, over the cases that both runs have. `p`: the sign test's, of a fall by chance."""

    figure: str
    before: int
    after: int
    of: int
    lost: tuple[str, ...]
    won: tuple[str, ...]

    @property
    def p(self) -> float:
        return sign_test(len(self.lost), len(self.won))

    @property
    def fell(self) -> bool:
        return len(self.lost) > len(self.won) and self.p <= LEVEL


def sign_test(lost: int, won: int) -> float:
    """P(at least this many of the changed cases lost, were either way as likely). Dixon & Mood 1946."""
    n = lost + won
    return float(sum(math.comb(n, k) for k in range(lost, n + 1)) / 2.0**n)


def recorded(results: Sequence[Result]) -> Record:
    """What is kept of a run."""
    return {r.id: {name: holds(r) for name, holds in YES.items()} for r in results}


def changes(before: Record, after: Record) -> list[Change]:
    """Every figure, over the cases that both have."""
    common = sorted(set(before) & set(after))
    return [_change(name, {c: (before[c].get(name, False), after[c][name]) for c in common}) for name in YES]


def _change(name: str, cases: Mapping[str, tuple[bool, bool]]) -> Change:
    return Change(
        name,
        sum(b for b, _ in cases.values()),
        sum(a for _, a in cases.values()),
        len(cases),
        tuple(c for c, (b, a) in cases.items() if b and not a),
        tuple(c for c, (b, a) in cases.items() if a and not b),
    )


def raised(before: Record, after: Record) -> Record:
    """The record to keep from now on: figures that improved are taken over whole, the others stay as they were."""
    better = {c.figure for c in changes(before, after) if c.after >= c.before}
    return {
        case: {
            n: (held if n in better or case not in before else before[case].get(n, held)) for n, held in now.items()
        }
        for case, now in after.items()
    }


def read_record(path: Path) -> Record:
    """Raises KnowledgeError where the file is no record; an absent one is empty."""
    try:
        found: Any = json.loads(path.read_text("utf-8")) if path.exists() else {}
    except (OSError, ValueError) as error:
        raise KnowledgeError(f"{path}: cannot be read as recorded figures: {error}") from error
    held = isinstance(found, dict) and all(isinstance(v, dict) for v in found.values())
    if not held or not all(isinstance(x, bool) for v in found.values() for x in v.values()):
        raise KnowledgeError(f"{path}: recorded figures are case -> figure -> true or false")
    return dict(found)


def as_text(record: Record) -> str:
    """One line a case, so that a change can be read in a difference."""
    lines = (f" {json.dumps(case)}: {json.dumps(dict(held))}" for case, held in sorted(record.items()))
    return "{\n" + ",\n".join(lines) + "\n}\n"
