"""Results of many cases -> figures with their 95 % intervals. Shares have Wilson's interval (1927)."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from diagnose.cases.result import CaseResult
from diagnose.measure.calibration import Calibration, calibration
from diagnose.measure.figures import Mean, mean
from diagnose.model.gear import plain

Z = 1.959964  # two-sided 95 % of the normal distribution
LITTLE_BITS = 0.05
MOST_NOT_ENCODED = 0.03  # above it a run says more about the cases than about the tool
HEARD = ("encoded", "healthy")


@dataclass(frozen=True, slots=True)
class Share:
    """`hits` of `count`."""

    hits: int
    count: int

    @property
    def value(self) -> float:
        return self.hits / self.count if self.count else math.nan

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's 95 % score interval; (0, 1) of nothing."""
        if not self.count:
            return 0.0, 1.0
        n, p, z = self.count, self.value, Z
        middle, half = p + z * z / (2 * n), z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
        return max(0.0, (middle - half) / (1 + z * z / n)), min(1.0, (middle + half) / (1 + z * z / n))


@dataclass(frozen=True, slots=True)
class CaseFigures:
    """`first`: the first conclusion's leader is a true cause; a fault without an entry counts as wrong.

    `covered_first` leaves those cases out. `at_remedy`: the same when the first remedy was chosen. Of two faults:
    `both_named` among the first three before a repair, `both_mended`. `outside_found`: of cases outside the list;
    `outside_said`: of listed ones, wrongly. `single_right`: single listed faults mended at the first remedy.
    `phone_steps` until the call concluded, `site_steps` after it. `repeated_for_nothing`: asked again though nothing
    had changed the answer. `doubts`: visits with a doubt raised against a true answer. `little`: share of answers
    that moved the belief by less than LITTLE_BITS. `facts_heard` of those in the first words were taken from there;
    `facts_asked` were asked all the same. `log_score`: mean of -log2 of the chance given to the truth.
    """

    cases: int
    covered: Share
    first: Share
    three: Share
    covered_first: Share
    at_remedy: Share
    both_named: Share
    both_mended: Share
    outside_found: Share
    outside_said: Share
    designed_found: Share
    single_right: Share
    mended: Share
    wrong_remedies: Mean
    remedies: Mean
    steps: Mean
    steps_p95: float
    read: Mean
    phone_steps: Mean
    site_steps: Mean
    questions: Mean
    concluded_minutes: Mean
    check_minutes: Mean
    minutes: Mean
    complaint_first: Share
    complaint_three: Share
    facts_heard: Share
    facts_asked: Share
    bits: Mean
    bits_median: float
    little: Share
    repeated: Mean
    repeated_for_nothing: Mean
    doubts: Share
    forbidden: Share
    against: Mean
    against_expected: Mean
    against_certain: int
    not_encoded: Share
    calibration: Calibration
    log_score: Mean


def case_figures(results: Sequence[CaseResult]) -> CaseFigures:
    """Figures of at least one result."""
    return CaseFigures(len(results), **_found(results), **_effort(results), **_answered(results))


def _found(results: Sequence[CaseResult]) -> dict[str, Any]:
    """What was found and mended, and how sure it was said."""
    listed = [r for r in results if r.kind == "listed"]
    return {
        "covered": _share(r.covered for r in results if r.kind != "outside"),
        "first": _share(r.first for r in results),
        "three": _share(r.first_three for r in results),
        "covered_first": _share(r.first for r in results if r.covered or r.kind == "outside"),
        "at_remedy": _share(r.at_remedy is not None and r.at_remedy.rank == 1 for r in results),
        "both_named": _share(r.both_named for r in results if r.pair),
        "both_mended": _share(r.mended for r in results if r.pair),
        "outside_found": _share(r.outside for r in results if r.kind == "outside"),
        "outside_said": _share(r.outside for r in listed),
        "designed_found": _share(r.first for r in results if r.kind == "designed"),
        "single_right": _share(r.first_remedy_right for r in listed if not r.pair),
        "mended": _share(r.mended for r in results if r.kind != "outside"),
        "wrong_remedies": mean(r.wrong_remedies for r in results),
        "remedies": mean(r.remedies for r in results if r.mended),
        "calibration": calibration([r.concluded.stated for r in results], [r.first for r in results]),
        "log_score": mean(r.log_score for r in results),
    }


def _effort(results: Sequence[CaseResult]) -> dict[str, Any]:
    """Questions and minutes, and what was heard in the first words."""
    return {
        "steps": mean(r.concluded.steps for r in results),
        "steps_p95": float(np.quantile([r.concluded.steps for r in results], 0.95)),
        "read": mean(r.concluded.questions + r.lines for r in results),
        "phone_steps": mean(r.concluded.steps for r in results if _phone(r)),
        "site_steps": mean(r.steps_site for r in results if _phone(r)),
        "questions": mean(r.questions for r in results),
        "concluded_minutes": mean(r.concluded.minutes for r in results),
        "check_minutes": mean(r.at_remedy.minutes for r in results if r.at_remedy),
        "minutes": mean(r.minutes for r in results if r.mended),
        "complaint_first": _share(r.heard == 1 for r in results),
        "complaint_three": _share(r.heard > 0 for r in results),
        "facts_heard": Share(sum(r.facts_heard for r in results), sum(r.facts_said for r in results)),
        "facts_asked": Share(sum(r.facts_asked for r in results), sum(r.facts_said for r in results)),
    }


def _answered(results: Sequence[CaseResult]) -> dict[str, Any]:
    """What the answers told, what was asked in vain, and what spoke against the truth."""
    told = [t for r in results for t in r.told]
    heard = [t for t in told if t.source in HEARD]
    return {
        "bits": mean(t.bits for t in heard),
        "bits_median": float(np.median([t.bits for t in heard] or [math.nan])),
        "little": _share(t.bits < LITTLE_BITS for t in heard),
        "repeated": mean(sum(t.again for t in r.told) for r in results),
        "repeated_for_nothing": mean(sum(t.for_nothing for t in r.told) for r in results),
        "doubts": _share(bool(r.doubted) for r in results),
        "forbidden": _share(bool(r.forbidden) for r in results),
        "against": mean(len(r.against) for r in results),
        "against_expected": mean(r.against_expected for r in results),
        "against_certain": sum(a.certain for r in results for a in r.against),
        "not_encoded": _share(t.source == "not_encoded" for t in told),
    }


def _phone(result: CaseResult) -> bool:
    return result.who != "field_tech"


def _share(hits: Iterable[bool]) -> Share:
    kept = list(hits)
    return Share(sum(kept), len(kept))


@dataclass(frozen=True, slots=True)
class Planted:
    """One answer in every visit made wrong. `displaced`: the truth stood first before and no longer does;
    `questioned`: of these, those in which the wrong answer was doubted. `first_falls`: points lost."""

    visits: int
    displaced: Share
    questioned: Share
    first_falls: Mean


def planted_figures(clean: Sequence[CaseResult], wrong: Sequence[tuple[str, CaseResult]]) -> Planted:
    """`wrong`: (the check that was answered wrongly, the visit)."""
    before = {r.id: r for r in clean}
    lost = [(check, r) for check, r in wrong if before[r.id].first and not r.first]
    return Planted(
        len(wrong),
        Share(len(lost), len(wrong)),
        _share(check in r.doubted for check, r in lost),
        mean(float(before[r.id].first) - float(r.first) for _, r in wrong),
    )


def botched_found(results: Sequence[CaseResult]) -> Share:
    """Repairs that did not take and were found before anything else was exchanged."""
    return _share(r.botched_found for r in results if r.botched)


@dataclass(frozen=True, slots=True)
class Entry:
    """A finding of a cause that true answers counted against: the entry of the knowledge to look at."""

    cause: str
    finding: str
    state: str
    times: int
    decibans: float
    certain: bool
    cases: tuple[str, ...]


def entries_to_look_at(results: Sequence[CaseResult]) -> list[Entry]:
    """What true answers counted against the truth, most weight in all first."""
    weight, times = Counter[tuple[str, str, str]](), Counter[tuple[str, str, str]]()
    cases: dict[tuple[str, str, str], list[str]] = {}
    certain: set[tuple[str, str, str]] = set()
    for result in results:
        for a in result.against:
            key = (plain(a.cause), plain(a.finding), plain(a.state))
            weight[key] -= round(a.decibans * 1000)
            times[key] += 1
            cases.setdefault(key, []).append(result.id)
            certain |= {key} if a.certain else set()
    return [Entry(*key, times[key], w / 1000, key in certain, tuple(cases[key])) for key, w in weight.most_common()]
