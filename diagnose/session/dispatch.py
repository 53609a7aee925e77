"""What the technician needs when a call could not solve it: causes, what to bring, first checks, access, safety."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.told import cautions_for
from diagnose.session.session import conclude
from diagnose.session.state import Session

SECOND_TRIP_MINUTES = 90.0  # what coming back for a forgotten part costs; judgement
CARRY_MINUTES = 3.0  # what picking and carrying one more thing costs; judgement
LEAST_LIKELY = 0.02
LIKELY_ENOUGH = 0.1  # for an electrician to be sent
FIRST_CHECKS = 3


@dataclass(frozen=True, slots=True)
class Bring:
    """A part or tool with the probability that it is wanted."""

    says: str
    wanted: float
    part: bool


@dataclass(frozen=True, slots=True)
class Dispatch:
    """The dispatch sheet, as plain values."""

    causes: tuple[tuple[str, float], ...]
    bring: tuple[Bring, ...]
    first_checks: tuple[str, ...]
    access: tuple[str, ...]
    electrician: bool
    cautions: tuple[str, ...]
    stop_work: tuple[str, ...]


def likely_causes(conclusion: Conclusion) -> tuple[tuple[str, float], ...]:
    """The causes that whoever is sent comes prepared for."""
    return tuple((c, p) for c, p in conclusion.belief.ranked() if p >= LEAST_LIKELY)


def dispatch(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> Dispatch:
    """Built for a fully equipped technician: what they should ask first is found by asking as one."""
    kb = reasoner.kb
    causes = likely_causes(conclusion)
    checks = first_checks(reasoner, session)
    groups = [kb.checks[c].access for c in checks] + [kb.causes[c].remedy.access for c, _ in causes[:3]]
    cautions = [caution for c in checks for caution in cautions_for(kb, kb.checks[c])]
    return Dispatch(
        causes=causes[:5],
        bring=what_to_bring(kb, causes, checks),
        first_checks=checks,
        access=tuple(dict.fromkeys(g for g in groups if g)),
        electrician=needs_electrician(kb, causes),
        cautions=tuple(dict.fromkeys(cautions)),
        stop_work=conclusion.stands,
    )


def needs_electrician(kb: KnowledgeBase, causes: Iterable[tuple[str, float]]) -> bool:
    """Whether a likely cause is for a licensed electrician to mend."""
    return any(kb.causes[c].remedy.who == "electrician" and p >= LIKELY_ENOUGH for c, p in causes)


def first_checks(reasoner: Reasoner, session: Session) -> tuple[str, ...]:
    """The three checks that save most per minute for an equipped technician who starts from this call."""
    setup = replace(session.setup, role="technician", electrician=True, tools=None)
    there = conclude(reasoner, replace(session, setup=setup, insist=True))
    rated = sorted(there.ahead.best, key=lambda g: (-g.value / g.minutes, g.option.check))
    return tuple(g.option.check for g in rated[:FIRST_CHECKS])


def what_to_bring(kb: KnowledgeBase, causes: Iterable[tuple[str, float]], checks: Iterable[str]) -> tuple[Bring, ...]:
    """Parts and tools whose chance of being wanted times a second trip outweighs carrying them."""
    wanted: dict[tuple[str, bool], float] = defaultdict(float)
    for cause, p in causes:
        remedy = kb.causes[cause].remedy
        for part in remedy.parts:
            wanted[(part, True)] += p
        for tool in remedy.tools:
            wanted[(kb.tools[tool], False)] += p
    for check in checks:
        for tool in kb.checks[check].tools:
            wanted[(kb.tools[tool], False)] = max(wanted[(kb.tools[tool], False)], 0.9)
    kept = [
        Bring(says, min(p, 1.0), part)
        for (says, part), p in wanted.items()
        if p * SECOND_TRIP_MINUTES > CARRY_MINUTES
    ]
    return tuple(sorted(kept, key=lambda b: (-b.wanted, b.says)))
