"""Collected figures as JSON values. Of the judging half, and of the cases set aside for fitting, only totals."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from diagnose.cases.collect import HALVES, Collected
from diagnose.cases.figures import (
    CaseFigures,
    Share,
    botched_found,
    case_figures,
    entries_to_look_at,
    planted_figures,
)
from diagnose.cases.result import CaseResult
from diagnose.cases.runs import ALL_BOTCHED, AS_IT_IS, PLANTED
from diagnose.measure.calibration import Calibration
from diagnose.measure.figures import Mean

SCHEMA = 1
DIGITS = 4


def as_plain(collected: Collected) -> dict[str, Any]:
    """One object: halves with their totals per run, the learning half's cases and entries to look at."""
    learning = collected.open
    return {
        "schema": SCHEMA,
        "knowledge": collected.kb.digest,
        "seed": collected.wanted.seed,
        "halves": {half: _half(collected, half) for half in HALVES if collected.of(AS_IT_IS, half)},
        "cases": [_case(r) for r in learning],
        "entries_to_look_at": [asdict(e) for e in entries_to_look_at(learning)],
    }


def _half(collected: Collected, half: Any) -> dict[str, Any]:
    found: dict[str, Any] = {name: totals(collected.of(name, half)) for name in collected.runs}
    if PLANTED in collected.runs:
        wrong = [(collected.wrong[r.id], r) for r in collected.of(PLANTED, half)]
        found[PLANTED]["planted"] = _rounded(planted_figures(collected.of(AS_IT_IS, half), wrong))
        found[ALL_BOTCHED]["found"] = _rounded(botched_found(collected.of(ALL_BOTCHED, half)))
    return found


def totals(results: Sequence[CaseResult]) -> dict[str, Any]:
    """The figures of some results as JSON values."""
    figures: CaseFigures = case_figures(results)
    return {name: _rounded(getattr(figures, name)) for name in figures.__dataclass_fields__}


def _rounded(value: Any) -> Any:
    match value:
        case Share():
            low, high = value.interval
            return {"hits": value.hits, "of": value.count, "low": round(low, DIGITS), "high": round(high, DIGITS)}
        case Mean():
            return {"mean": _number(value.value), "margin": _number(value.margin), "of": value.count}
        case Calibration():
            return {k: _rounded(getattr(value, k)) for k in ("bins", "error", "by_chance", "brier", "surplus")}
        case float():
            return _number(value)
        case tuple():
            return [_rounded(v) for v in value]
        case int() | str():
            return value
    return {name: _rounded(getattr(value, name)) for name in value.__dataclass_fields__}


def _number(value: float) -> float | None:
    """JSON has no nan: what could not be told is null."""
    return round(value, DIGITS) if value == value else None


def _case(result: CaseResult) -> dict[str, Any]:
    return {name: _listed(value) for name, value in asdict(result).items()}


def _listed(value: Any) -> Any:
    return _number(value) if isinstance(value, float) else value
