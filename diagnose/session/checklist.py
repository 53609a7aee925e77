"""What must be proved before a gate goes back into service, built from what was touched and what was ordered."""

from dataclasses import dataclass

from diagnose.core.facts import gather
from diagnose.core.rules import Consequences, consequences, fixpoint
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.state import Session, Tick
from diagnose.words import say

BYPASS = "no_bypass"  # the caution of every check that puts a bridge in
PROTECTION = "stop_protection_lost"


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the checklist. A protective item must pass, or be not applicable with a reason."""

    id: str
    says: str
    why: str
    protective: bool


def ordered(kb: KnowledgeBase, session: Session) -> tuple[str, ...]:
    """Every stop-work order this visit ever raised, also on answers that repairs have made obsolete."""
    stages = [(*a.carried, *a.answers) for a in session.attempts] + [session.given]
    found: dict[str, None] = {}
    for answers in stages:
        found |= dict.fromkeys(_consequences(kb, session, answers).stop_work)
    return tuple(found)


def _consequences(kb: KnowledgeBase, session: Session, answers: tuple[object, ...]) -> Consequences:
    known = gather(kb, session.setup, session.complaint, answers)  # type: ignore[arg-type]
    return consequences(kb, *fixpoint(kb, known.facts))


def checklist(kb: KnowledgeBase, session: Session) -> list[Item]:
    """The items of this visit, protective ones first."""
    reasons: dict[str, str] = {}
    for repair in session.repairs:
        for touched in kb.causes[repair.cause].remedy.touches:
            reasons.setdefault(touched, say("session.touched_by", cause=kb.causes[repair.cause].says))
    reasons |= {k: v for k, v in _from_checks(kb, session).items() if k not in reasons}
    reasons |= {k: v for k, v in _protection(kb, session).items() if k not in reasons}
    items = [Item(i, kb.proofs[i], why, i in kb.settings.protective_proofs) for i, why in reasons.items()]
    return sorted(items, key=lambda item: not item.protective)


def _from_checks(kb: KnowledgeBase, session: Session) -> dict[str, str]:
    """Covers that were opened and bridges that were put in for checks or repairs."""
    answers = [*session.given, *(a for t in session.attempts for a in t.answers)]
    done = [kb.checks[a.check] for a in answers if a.says_something and a.check in kb.checks]
    groups = {c.access for c in done} | {kb.causes[r.cause].remedy.access for r in session.repairs}
    found: dict[str, str] = {}
    if any(kb.access[g].enclosure for g in groups if g):
        found["covers"] = say("session.opened")
    if any(BYPASS in c.cautions for c in done):
        found["bridges"] = say("session.bridged")
    return found


def _protection(kb: KnowledgeBase, session: Session) -> dict[str, str]:
    """Protective functions: after any repair, and after any stop-work order whatever was done."""
    orders, found = ordered(kb, session), dict[str, str]()
    why = say("session.ordered") if orders else say("session.repaired") if session.repairs else ""
    if not why:
        return found
    found["protective_zone"] = why
    devices = session.setup.devices
    if "edge" in devices:
        found["edge"] = why
    if session.setup.profile.get("device.test_input") == "fitted":
        found["test_input"] = why
    return found


def open_items(kb: KnowledgeBase, session: Session) -> list[Item]:
    """Items without a tick, failed, or - after a lost protection - waved through as not applicable."""
    ticks = {t.item: t for t in session.ticks}
    lost = PROTECTION in ordered(kb, session)
    return [item for item in checklist(kb, session) if not _settled(item, ticks.get(item.id), lost)]


def _settled(item: Item, tick: Tick | None, protection_lost: bool) -> bool:
    if tick is None or tick.result == "fail":
        return False
    return tick.result == "pass" or not (item.id == "protective_zone" and protection_lost)


def touched_protection(kb: KnowledgeBase, session: Session) -> bool:
    """Whether a repair touched what stands between people and the gate."""
    touched = {t for r in session.repairs for t in kb.causes[r.cause].remedy.touches}
    return bool(touched & set(kb.settings.protective_proofs))
