"""Which cautions belong to one step, and which are general: said once a visit, and shown again on demand."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.session.session import conclude
from diagnose.session.state import Session

GENERAL_SHARE = 0.2  # a caution of more than this share of all remedies tells nothing about one of them


@dataclass(frozen=True, slots=True)
class SaidCaution:
    id: str
    says: str


@dataclass(frozen=True, slots=True)
class Cautions:
    """`special`: of this step, in one box; `general`: said now for the whole visit; `told`: general, said before."""

    special: tuple[SaidCaution, ...] = ()
    general: tuple[SaidCaution, ...] = ()
    told: tuple[SaidCaution, ...] = ()

    @property
    def ids(self) -> tuple[str, ...]:
        return tuple(c.id for c in (*self.special, *self.general, *self.told))


def before_check(kb: KnowledgeBase, check: Check, told: Collection[str]) -> Cautions:
    """What has to be said before a check, when `told` was said before on this visit."""
    return _sorted(kb, cautions_for(kb, check), told)


def before_test(kb: KnowledgeBase, cause: Cause, told: Collection[str]) -> Cautions:
    """What has to be said before the test of a cause."""
    return _sorted(kb, cause.cautions, told)


def before_remedy(kb: KnowledgeBase, cause: Cause, told: Collection[str]) -> Cautions:
    """What has to be said before a remedy: of what has to be opened, of the cause, and of the remedy itself."""
    return _sorted(kb, remedy_cautions(kb, cause), told)


def raised(kb: KnowledgeBase, names: Iterable[str]) -> tuple[SaidCaution, ...]:
    """Cautions that rules raised on the answers of this very visit: each is special."""
    return tuple(_caution(kb, name) for name in names)


def raised_last(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> tuple[SaidCaution, ...]:
    """Cautions that rules raised on the last answer, for a screen that keeps nothing of the one before it."""
    now = conclusion.after.cautions
    if not now or not session.answers:
        return raised(reasoner.kb, now)
    before = conclude(reasoner, replace(session, answers=session.answers[:-1])).after.cautions
    return raised(reasoner.kb, (name for name in now if name not in before))


def of_visit(kb: KnowledgeBase, told: Iterable[str]) -> tuple[SaidCaution, ...]:
    """Every caution that was told on the visit, to be read again. Stop-work orders stand by themselves."""
    return tuple(_caution(kb, name) for name in told if not kb.cautions[name].stop_work)


def told_before(kb: KnowledgeBase, session: Session) -> tuple[str, ...]:
    """Cautions that came before checks already answered, in that order."""
    done = (kb.checks[a.check] for a in session.given if a.check in kb.checks and not a.heard)
    return tuple(dict.fromkeys(name for check in done for name in cautions_for(kb, check)))


def general(kb: KnowledgeBase) -> frozenset[str]:
    """Cautions of opening something, and those that a good part of all remedies share."""
    opening = {name for group in kb.access.values() for name in group.cautions}
    counts = Counter(name for cause in kb.causes.values() for name in {*cause.cautions, *cause.remedy.cautions})
    shared = {name for name, count in counts.items() if count > GENERAL_SHARE * len(kb.causes)}
    return frozenset(opening | shared)


def _sorted(kb: KnowledgeBase, names: Iterable[str], told: Collection[str]) -> Cautions:
    whole = general(kb)
    named = [_caution(kb, name) for name in names]
    return Cautions(
        special=tuple(c for c in named if c.id not in whole),
        general=tuple(c for c in named if c.id in whole and c.id not in told),
        told=tuple(c for c in named if c.id in whole and c.id in told),
    )


def _caution(kb: KnowledgeBase, name: str) -> SaidCaution:
    return SaidCaution(name, kb.cautions[name].says)
