"""Recorded figures of the learning half: a change that worsens one by more than its noise is noticed.

The noise is taken on the cases themselves, the same before and after: a share falls beyond noise when the cases that
lost it outnumber those that won it (sign test), a number when its mean difference exceeds its standard error (paired,
normal); both one-sided, 5 %.
"""

import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from diagnose.cases.result import CaseResult
from diagnose.errors import KnowledgeError
from diagnose.session.profile_facts import is_number
from diagnose.words import say

LEVEL = 0.05
Z_ONE_SIDED = 1.644854  # 95 % of the normal distribution lies below
YES: Mapping[str, Callable[[CaseResult], float]] = {
    "first": lambda r: r.first,
    "first three": lambda r: r.first_three,
    "first when a remedy is chosen": lambda r: r.at_remedy is not None and r.at_remedy.rank == 1,
    "right at the first remedy": lambda r: r.first_remedy_right,
    "mended": lambda r: r.mended,
    "no doubt against a true answer": lambda r: not r.doubted,
    "nothing asked again for nothing": lambda r: not any(t.for_nothing for t in r.told),
    "nothing forbidden": lambda r: not r.forbidden,
}
LESS_IS_BETTER: Mapping[str, Callable[[CaseResult], float]] = {
    "questions until concluded": lambda r: r.concluded.questions,
    "minutes of checks until concluded": lambda r: r.concluded.minutes,
    "wrong remedies": lambda r: r.wrong_remedies,
    "log score": lambda r: r.log_score,
}
FIGURES = {**YES, **LESS_IS_BETTER}
Record = Mapping[str, Mapping[str, float]]  # case -> figure -> 1 or 0 where it holds or not, or the number


@dataclass(frozen=True, slots=True)
class FigureChange:
    """One figure before and after, over the cases that both runs have; `worse` and `better` name them."""

    figure: str
    before: float
    after: float
    of: int
    worse: tuple[str, ...]
    better: tuple[str, ...]
    fell: bool


def sign_test(lost: int, won: int) -> float:
    """P(at least this many of the changed cases lost, were either way as likely). Dixon & Mood 1946."""
    n = lost + won
    return float(sum(math.comb(n, k) for k in range(lost, n + 1)) / 2.0**n)


def recorded(results: Sequence[CaseResult]) -> Record:
    """What is kept of a run."""
    return {r.id: {name: round(float(of(r)), 3) for name, of in FIGURES.items()} for r in results}


def changes(before: Record, after: Record) -> list[FigureChange]:
    """Every figure, over the cases that both have."""
    common = sorted(set(before) & set(after))
    both = {n: {c: (before[c][n], after[c][n]) for c in common if n in before[c]} for n in FIGURES}
    return [_change(name, cases) for name, cases in both.items()]


def _change(name: str, cases: Mapping[str, tuple[float, float]]) -> FigureChange:
    """`gain` is positive where the figure became better."""
    sign = -1.0 if name in LESS_IS_BETTER else 1.0
    gain = {c: sign * (a - b) for c, (b, a) in cases.items()}
    worse, better = [tuple(c for c, g in gain.items() if g * s > 0) for s in (-1.0, 1.0)]
    fell = _beyond_noise(list(gain.values())) if name in LESS_IS_BETTER else _more_lost(len(worse), len(better))
    return FigureChange(
        name,
        _mean(b for b, _ in cases.values()),
        _mean(a for _, a in cases.values()),
        len(cases),
        worse,
        better,
        fell,
    )


def _more_lost(lost: int, won: int) -> bool:
    return lost > won and sign_test(lost, won) <= LEVEL


def _beyond_noise(gains: Sequence[float]) -> bool:
    if len(gains) < 2:
        return False
    error = float(np.std(gains, ddof=1)) / math.sqrt(len(gains))
    return float(np.mean(gains)) < -Z_ONE_SIDED * error and error > 0.0


def _mean(values: Iterable[float]) -> float:
    kept = list(values)
    return sum(kept) / len(kept) if kept else math.nan


def raised(before: Record, after: Record) -> Record:
    """The record to keep from now on: figures that are no worse are taken over whole, the others stay."""
    better = {c.figure for c in changes(before, after) if _no_worse(c)}
    return {
        case: {n: (x if n in better or n not in before.get(case, {}) else before[case][n]) for n, x in now.items()}
        for case, now in after.items()
    }


def _no_worse(change: FigureChange) -> bool:
    sign = -1.0 if change.figure in LESS_IS_BETTER else 1.0
    return not change.of or sign * change.after >= sign * change.before


def read_record(path: Path) -> Record:
    """Raises KnowledgeError where the file is no record; an absent one is empty."""
    try:
        found: Any = json.loads(path.read_text("utf-8")) if path.exists() else {}
    except (OSError, ValueError) as error:
        raise KnowledgeError(say("cases.figures_not_read", path=path, why=error)) from error
    held = isinstance(found, dict) and all(isinstance(v, dict) for v in found.values())
    if not held or not all(is_number(x) for v in found.values() for x in v.values()):
        raise KnowledgeError(say("cases.not_figures", path=path))
    return dict(found)


def as_text(record: Record) -> str:
    """One line a case, so that a change can be read in a difference."""
    lines = (f" {json.dumps(case)}: {json.dumps(dict(held))}" for case, held in sorted(record.items()))
    return "{\n" + ",\n".join(lines) + "\n}\n"
