"""Which choices would hurt somebody: the rules of permit, hazard and stop-work, with the sentence that explains.

The exercise stops at the first. Local codes and licensed practice decide at a real gate.
"""

from dataclasses import dataclass

from diagnose.core import permit
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.summary import cautions_for


@dataclass(frozen=True, slots=True)
class Danger:
    """`rule`: licence, stop_work, runs_gate, not_cleared, unprepared or enclosure."""

    rule: str
    says: str


def of_check(kb: KnowledgeBase, setup: Setup, conclusion: Conclusion, check: Check, prepared: bool) -> Danger | None:
    """Why doing this check now would be unsafe, or None."""
    if check.who == "electrician" and not setup.electrician:
        return Danger("licence", "Mains terminals are for a licensed electrician. Leave it, and send for one.")
    if setup.role == "help_desk" and not permit.may_do(check, setup):
        return Danger("enclosure", "A caller is never asked to open, measure, bridge, climb or stand in the path.")
    if check.id in (kb.settings.made_safe_check, *kb.settings.opening):
        return None
    if conclusion.stop_work:
        return Danger("stop_work", _order(kb, conclusion))
    if check.runs_gate and conclusion.stands:
        return Danger("runs_gate", "This check runs the gate, but a stop-work order stands. Nothing may move it.")
    if check.hazard and check.locked and check.id not in conclusion.after.unlocked:
        return Danger("not_cleared", "This test is dangerous before the looks that clear the way for it are done.")
    if check.hazard and not prepared:
        return Danger("unprepared", _first(kb, cautions_for(kb, check)))
    return None


def of_repair(kb: KnowledgeBase, setup: Setup, conclusion: Conclusion, cause: str, prepared: bool) -> Danger | None:
    """Why carrying out this remedy now would be unsafe, or None."""
    remedy = kb.causes[cause].remedy
    if remedy.who == "electrician" and not setup.electrician:
        return Danger("licence", "This remedy is for a licensed electrician. Say what you found, and hand it over.")
    if conclusion.stop_work:
        return Danger("stop_work", _order(kb, conclusion))
    cautions = repair_cautions(kb, cause)
    if cautions and not prepared:
        return Danger("unprepared", _first(kb, cautions))
    return None


def repair_cautions(kb: KnowledgeBase, cause: str) -> tuple[str, ...]:
    """Cautions of a remedy, with those of what it opens and of the cause."""
    entry = kb.causes[cause]
    access = kb.access[entry.remedy.access].cautions if entry.remedy.access else ()
    return tuple(dict.fromkeys((*access, *entry.cautions, *entry.remedy.cautions)))


def _order(kb: KnowledgeBase, conclusion: Conclusion) -> str:
    orders = " ".join(kb.cautions[order].says for order in conclusion.stop_work)
    return f"A stop-work order stands and the gate has not been made safe. {orders}"


def _first(kb: KnowledgeBase, cautions: tuple[str, ...]) -> str:
    told = " ".join(kb.cautions[c].says for c in cautions)
    return f"This was begun without its precautions. {told}"
