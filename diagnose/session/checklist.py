"""What must be proved before a gate goes back into service, built from what was touched and what was ordered."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from diagnose.core.facts import facts_of_setup, gather
from diagnose.core.rules import Consequences, consequences, fixpoint
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.named import Occasion, Proof
from diagnose.model.visit import Value
from diagnose.session.state import Session, Tick
from diagnose.words import say

OWED: Mapping[Occasion, str] = {  # why a line is on the checklist
    "stop_work": "session.ordered",
    "repair": "session.repaired",
    "enclosure": "session.opened",
}


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
    """The items of this visit, protective ones first: touched by a repair, of every gate, of one device."""
    reasons: dict[str, str] = {}
    site, occasions, cautions = facts_of_setup(kb, session.setup), _occasions(kb, session), _cautions(kb, session)
    for repair in session.repairs:
        for touched in kb.causes[repair.cause].remedy.touches:
            if not _absent(kb.proofs[touched], site):
                reasons.setdefault(touched, say("session.touched_by", cause=kb.causes[repair.cause].says))
    for proof in sorted(kb.proofs.values(), key=lambda p: bool(p.when)):
        why = _why(proof, occasions, cautions)
        if why and all(site.get(fact) in values for fact, values in proof.when.items()):
            reasons.setdefault(proof.id, why)
    items = [Item(i, kb.proofs[i].says, why, kb.proofs[i].protective) for i, why in reasons.items()]
    return sorted(items, key=lambda item: not item.protective)


def _absent(proof: Proof, site: Mapping[str, Value]) -> bool:
    """Whether it is known that the gate does not have what the proof is about; what nobody knows of is proved."""
    return any(fact in site and site[fact] not in values for fact, values in proof.when.items())


def _why(proof: Proof, occasions: Collection[Occasion], cautions: Collection[str]) -> str:
    """What makes a proof owed, other than that a repair touched it; '' where nothing does."""
    reasons = [say(OWED[occasion]) for occasion in proof.after if occasion in occasions]
    reasons += [says for caution, says in proof.after_caution.items() if caution in cautions]
    return next(iter(reasons), "")


def _occasions(kb: KnowledgeBase, session: Session) -> list[Occasion]:
    """What happened on this visit that proofs may follow on."""
    groups = {c.access for c in _done(kb, session)} | {kb.causes[r.cause].remedy.access for r in session.repairs}
    happened: dict[Occasion, bool] = {
        "stop_work": bool(ordered(kb, session)),
        "repair": bool(session.repairs),
        "enclosure": any(kb.access[g].enclosure for g in groups if g),
    }
    return [occasion for occasion, so in happened.items() if so]


def _cautions(kb: KnowledgeBase, session: Session) -> set[str]:
    return {caution for check in _done(kb, session) for caution in check.cautions}


def _done(kb: KnowledgeBase, session: Session) -> list[Check]:
    """Checks that were carried out, before and after repairs."""
    answers = [*session.given, *(a for t in session.attempts for a in t.answers)]
    return [kb.checks[a.check] for a in answers if a.made_here and a.check in kb.checks]


def open_items(kb: KnowledgeBase, session: Session) -> list[Item]:
    """Items without a tick, failed, or waved through as not applicable after an order that forbids it."""
    ticks, orders = {t.item: t for t in session.ticks}, ordered(kb, session)
    return [i for i in checklist(kb, session) if not _settled(kb.proofs[i.id], ticks.get(i.id), orders)]


def _settled(proof: Proof, tick: Tick | None, orders: Collection[str]) -> bool:
    if tick is None or tick.result == "fail":
        return False
    return tick.result == "pass" or not set(proof.never_waved_after) & set(orders)


def touched_protection(kb: KnowledgeBase, session: Session) -> bool:
    """Whether a repair touched what stands between people and the gate."""
    touched = {t for r in session.repairs for t in kb.causes[r.cause].remedy.touches}
    return any(kb.proofs[t].protective for t in touched)
