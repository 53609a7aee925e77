"""Which choices would hurt somebody: the rules of permit, hazard and stop-work, with the sentence that explains.

The exercise stops at the first. Local codes and licensed practice decide at a real gate.
"""

from dataclasses import dataclass

from diagnose.core import permit
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.model.visit import Setup
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Danger:
    """`rule`: licence, stop_work, runs_gate, not_cleared, unprepared or enclosure."""

    rule: str
    says: str


def of_check(kb: KnowledgeBase, setup: Setup, conclusion: Conclusion, check: Check, prepared: bool) -> Danger | None:
    """Why doing this check now would be unsafe, or None."""
    if check.who == "electrician" and not setup.electrician:
        return Danger("licence", say("practice.danger_licence"))
    if setup.role == "help_desk" and not permit.may_do(check, setup):
        return Danger("enclosure", say("practice.danger_enclosure"))
    if check.id in (kb.settings.made_safe_check, *kb.settings.opening):
        return None
    if conclusion.stop_work:
        return Danger("stop_work", _order(kb, conclusion))
    if check.runs_gate and conclusion.stands:
        return Danger("runs_gate", say("practice.danger_runs_gate"))
    if check.hazard and check.locked and check.id not in conclusion.after.unlocked:
        return Danger("not_cleared", say("practice.danger_not_cleared"))
    if check.hazard and not prepared:
        return Danger("unprepared", _first(kb, cautions_for(kb, check)))
    return None


def of_repair(kb: KnowledgeBase, setup: Setup, conclusion: Conclusion, cause: str, prepared: bool) -> Danger | None:
    """Why carrying out this remedy now would be unsafe, or None."""
    remedy = kb.causes[cause].remedy
    if remedy.who == "electrician" and not setup.electrician:
        return Danger("licence", say("practice.danger_remedy_licence"))
    if conclusion.stop_work:
        return Danger("stop_work", _order(kb, conclusion))
    cautions = remedy_cautions(kb, kb.causes[cause])
    if cautions and not prepared:
        return Danger("unprepared", _first(kb, cautions))
    return None


def _order(kb: KnowledgeBase, conclusion: Conclusion) -> str:
    orders = " ".join(kb.cautions[order].says for order in conclusion.stop_work)
    return say("practice.danger_stop_work", orders=orders)


def _first(kb: KnowledgeBase, cautions: tuple[str, ...]) -> str:
    told = " ".join(kb.cautions[c].says for c in cautions)
    return say("practice.danger_unprepared", cautions=told)
