"""What stop-work orders and cautions hang on: the rules, calculations and checks that lead to one."""

from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.rules import Rule


@dataclass(frozen=True, slots=True)
class Feeds:
    """Ids of entries."""

    rules: frozenset[str]
    calculations: frozenset[str]
    checks: frozenset[str]


def feeds_of_orders(kb: KnowledgeBase) -> Feeds:
    """Every entry without which some order or caution would not be given, all the way up; the opening questions."""
    rules = {r.id for r in kb.rules.values() if r.then.stop_work or r.then.caution}
    facts, leading_to = set[str](), _by_conclusion(kb)
    todo = [fact for name in rules for fact in kb.rules[name].when]
    while todo:
        fact = todo.pop()
        if fact in facts:
            continue
        facts.add(fact)
        leading = leading_to.get(fact, [])
        rules |= {r.id for r in leading}
        todo += [f for r in leading for f in r.when]
        if fact in kb.calculations:
            todo += kb.calculations[fact].inputs.values()
    asked = {c.id for c in kb.checks.values() if (c.fills or c.id) in facts}
    opening = {*kb.settings.opening, kb.settings.made_safe_check}
    skipping = {r.id for r in kb.rules.values() if _skipped(r) & (asked | opening)}
    calculations = frozenset(facts & kb.calculations.keys())
    return Feeds(frozenset(rules | skipping), calculations, frozenset(asked | opening))


def _skipped(rule: Rule) -> set[str]:
    return {check for check, answer in rule.then.settle.items() if answer == "skip"}


def _by_conclusion(kb: KnowledgeBase) -> dict[str, list[Rule]]:
    found: dict[str, list[Rule]] = {}
    for rule in kb.rules.values():
        for fact in _concluded(rule):
            found.setdefault(fact, []).append(rule)
    return found


def _concluded(rule: Rule) -> set[str]:
    """Facts a rule establishes; what it only says is not worth asking is none."""
    settled = {check for check, answer in rule.then.settle.items() if answer != "skip"}
    return {*rule.then.derive, *settled}
