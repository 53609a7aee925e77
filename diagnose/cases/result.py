"""A played case -> what is kept of it: plain values only, so that it travels between processes and into JSON."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.cases.against import Against, against_truth, expected_against
from diagnose.cases.model import FieldCase, Half, Kind, check_of
from diagnose.cases.play import AskedInCase, Played, Stretch
from diagnose.model.gear import plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Value

LEAST_CHANCE = 1e-6  # given to a truth that is not listed at all


@dataclass(frozen=True, slots=True)
class Sight:
    """How a conclusion stood to the truth. `rank` of the best true cause, 0: none is listed; `stated` of the leader.

    `truth`: the chance given to the true causes together (to 'outside' for a case outside the list). What is looked
    at in one go is one of the `steps`, and so is reading through what was heard.
    """

    leader: str
    stated: float
    rank: int
    truth: float
    questions: int
    steps: int
    minutes: float


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """One answered question, as kept. `bits` is 0 for what is not scored."""

    check: str
    value: Value
    source: str
    bits: float
    again: bool
    for_nothing: bool


@dataclass(frozen=True, slots=True)
class CaseResult:
    """What one case showed.

    `concluded`: the first conclusion, on the phone for a call; `at_remedy`: the last before the first remedy, None
    where none was done. `steps_site`: those between taking over and that remedy; `lines`: heard answers
    that were shown. `outside`: the tool said that
    something outside its list is most likely, before it gave up. `facts_said` stand in the first words;
    `facts_heard` of them were taken from there, `facts_asked` were asked all the same. `against_expected`: how many
    answers against the truth its own tables predict.
    """

    id: str
    half: Half
    fitting: bool
    kind: Kind
    family: str
    who: str
    pair: bool
    intermittent: bool
    covered: bool
    concluded: Sight
    at_remedy: Sight | None
    steps_site: int
    questions: int
    lines: int
    minutes: float
    first_remedy_right: bool
    remedies: int
    wrong_remedies: int
    botched: bool
    botched_found: bool
    both_named: bool
    mended: bool
    ended: str
    outside: bool
    heard: int
    facts_said: int
    facts_heard: int
    facts_asked: int
    told: tuple[KeptAnswer, ...]
    doubted: tuple[str, ...]
    forbidden: tuple[str, ...]
    against: tuple[Against, ...]
    against_expected: float

    @property
    def log_score(self) -> float:
        """-log2 of the chance given to the truth at the first conclusion."""
        return -math.log2(max(self.concluded.truth, LEAST_CHANCE))

    @property
    def first(self) -> bool:
        return self.concluded.rank == 1

    @property
    def first_three(self) -> bool:
        return 1 <= self.concluded.rank <= 3


def result_of(kb: KnowledgeBase, played: Played) -> CaseResult:
    """Everything that is counted of one visit."""
    case, parts = played.case, played.parts
    before = before_remedy(played)
    return CaseResult(
        id=case.id, half=case.half, fitting=case.fitting, kind=case.kind, family=case.sensor_family, who=case.who,
        pair=case.second_cause is not None, intermittent=case.intermittent, covered=case.covered,
        concluded=_sight(kb, case, parts[:1], played.lines > 0),
        at_remedy=_sight(kb, case, parts[: before + 1], played.lines > 0) if played.remedies else None,
        steps_site=sum(a.first for p in parts[1 : before + 1] for a in p.asked),
        questions=len(played.asked), lines=played.lines, minutes=played.minutes,
        both_named=_both_named(case, parts[before]),
        outside=any(p.ranked[0][0] == kb.settings.outside_cause for p in parts),
        **_mending(played), **_asking(played), **_misleading(kb, case, parts[before]),
    )  # fmt: skip


def _mending(played: Played) -> dict[str, Any]:
    return {
        "first_remedy_right": bool(played.remedies) and _right(played, 0),
        "remedies": len(played.remedies),
        "wrong_remedies": sum(r.mended is None and not r.botched for r in played.remedies),
        "botched": any(r.botched for r in played.remedies),
        "botched_found": _botched_found(played),
        "mended": played.ended == "mended",
        "ended": played.ended,
    }


def _asking(played: Played) -> dict[str, Any]:
    said, asked = _said(played.case), {plain(a.check) for a in played.asked}
    return {
        "heard": played.heard,
        "facts_said": len(said),
        "facts_heard": len(played.facts_heard),
        "facts_asked": len(said & asked),
        "told": tuple(KeptAnswer(a.check, a.value, a.source, a.bits, a.again, a.for_nothing) for a in played.asked),
        "doubted": tuple(sorted(played.doubted)),
        "forbidden": tuple(a.check for a in played.asked if a.forbidden),
    }


def _misleading(kb: KnowledgeBase, case: FieldCase, part: Stretch) -> dict[str, Any]:
    """What counted against the truth in everything that was asked before the first remedy."""
    known = part.conclusion.belief.network.causes
    truth = [c for c in true_causes(kb, case) if c in known]
    return {
        "against": tuple(against_truth(kb, part.conclusion, truth)),
        "against_expected": expected_against(kb, part.conclusion, truth),
    }


def _said(case: FieldCase) -> set[str]:
    return set(map(check_of, case.encoded.said)) if case.encoded else set()


def true_causes(kb: KnowledgeBase, case: FieldCase) -> list[str]:
    """Every entry that counts as the truth of the case."""
    if case.kind == "outside":
        return [kb.settings.outside_cause]
    return [c for c in kb.causes if any(case.mends(i, c) for i in range(len(case.faults)))]


def before_remedy(played: Played) -> int:
    """Index of the last part before anything was repaired: the call, or what the technician added to it."""
    return next((i for i, p in enumerate(played.parts) if p.on_site), len(played.parts) - 1)


def _sight(kb: KnowledgeBase, case: FieldCase, parts: Sequence[Stretch], listened: bool) -> Sight:
    """What was heard in the first words is read through in one step."""
    last, truth = parts[-1], true_causes(kb, case)
    places = [i for i, (cause, _) in enumerate(last.ranked, start=1) if cause in truth]
    leader, stated = last.ranked[0]
    given = dict(last.ranked).get(kb.settings.outside_cause, 0.0) if case.kind == "outside" else last.truth
    asked = [a for p in parts for a in p.asked]
    return Sight(leader, stated, min(places, default=0), given, *_counted(asked, listened))


def _counted(asked: Sequence[AskedInCase], listened: bool) -> tuple[int, int, float]:
    """Questions, steps and minutes."""
    return len(asked), sum(a.first for a in asked) + listened, sum(a.minutes for a in asked)


def _both_named(case: FieldCase, part: Stretch) -> bool:
    """Before anything was repaired each fault had an entry among the first three."""
    named = {cause for cause, _ in part.ranked[:3]}
    return len(case.faults) == 2 and all(any(case.mends(i, c) for c in named) for i in range(2))


def _right(played: Played, at: int) -> bool:
    remedy = played.remedies[at]
    return remedy.mended is not None or remedy.botched


def _botched_found(played: Played) -> bool:
    """After a repair that did not take, the same fault's remedy is the next one done."""
    at = next((i for i, r in enumerate(played.remedies) if r.botched), None)
    if at is None or at + 1 >= len(played.remedies):
        return False
    case, cause, next_one = played.case, played.remedies[at].cause, played.remedies[at + 1].cause
    return any(case.mends(i, cause) and case.mends(i, next_one) for i in range(len(case.faults)))
