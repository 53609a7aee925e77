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

MOST_TOLD = 3


@dataclass(frozen=True, slots=True)
class Danger:
    """`rule`: licence, stop_work, runs_gate, not_cleared, unprepared or enclosure. `happened`: what would have."""

    rule: str
    says: str
    happened: str


def of_check(kb: KnowledgeBase, setup: Setup, conclusion: Conclusion, check: Check, prepared: bool) -> Danger | None:
    """Why doing this check now would be unsafe, or None."""
    if check.who == "electrician" and not setup.electrician:
        return _danger("licence")
    if setup.role == "help_desk" and not permit.may_do(check, setup):
        return _danger("enclosure")
    if check.id in (kb.settings.made_safe_check, *kb.settings.opening):
        return None
    if conclusion.stop_work:
        return _under_order(kb, conclusion)
    if check.runs_gate and conclusion.stands:
        return _danger("runs_gate")
    if check.hazard and check.locked and check.id not in conclusion.after.unlocked:
        return _danger("not_cleared")
    if check.hazard and not prepared:
        return _unprepared(kb, cautions_for(kb, check))
    return None


def of_repair(kb: KnowledgeBase, setup: Setup, conclusion: Conclusion, cause: str, prepared: bool) -> Danger | None:
    """Why carrying out this remedy now would be unsafe, or None."""
    remedy = kb.causes[cause].remedy
    if remedy.who == "electrician" and not setup.electrician:
        return Danger("licence", say("practice.danger_remedy_licence"), say("practice.happened_licence"))
    if conclusion.stop_work:
        return _under_order(kb, conclusion)
    cautions = remedy_cautions(kb, kb.causes[cause])
    if cautions and not prepared:
        return _unprepared(kb, cautions)
    return None


def _danger(rule: str) -> Danger:
    return Danger(rule, say(f"practice.danger_{rule}"), say(f"practice.happened_{rule}"))


def _under_order(kb: KnowledgeBase, conclusion: Conclusion) -> Danger:
    orders = " ".join(kb.cautions[order].says for order in conclusion.stop_work)
    return Danger("stop_work", say("practice.danger_stop_work", orders=orders), _otherwise(kb, conclusion.stop_work))


def _unprepared(kb: KnowledgeBase, cautions: tuple[str, ...]) -> Danger:
    return Danger("unprepared", say("practice.danger_unprepared"), _otherwise(kb, cautions))


def _otherwise(kb: KnowledgeBase, cautions: tuple[str, ...]) -> str:
    """What would have happened without them: of the first few, for a wall of text warns nobody."""
    told = [kb.cautions[c].otherwise for c in cautions if kb.cautions[c].otherwise]
    return " ".join(told[:MOST_TOLD]) or say("practice.happened_unprepared")
