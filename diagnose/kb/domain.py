"""Which facts exist and which values each can take."""

from diagnose.calc.registry import FOR_RULES
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.profile import PROFILE_FACTS

Domain = dict[str, set[str]]  # a number has an empty set


def answers_of(check: Check) -> set[str]:
    """The words a check can be answered with; empty for a quantity."""
    if check.kind == "yes_no":
        return {"yes", "no"}
    return set(check.options) if check.kind == "choice" else set()


def fact_domain(kb: KnowledgeBase) -> Domain:
    """Every fact a rule, condition or calculation may name, with its possible words."""
    domain: Domain = {name: set(v) if isinstance(v, tuple) else set() for name, v in PROFILE_FACTS.items()}
    domain |= {f"fitted.{device}": {"fitted", "none"} for device in kb.devices}
    domain["complaint"] = set(kb.complaints)
    domain["role"] = {"technician", "help_desk"}
    for check in kb.checks.values():
        domain.setdefault(check.fills or check.id, set()).update(answers_of(check))
    for calculation in kb.calculations.values():
        known = FOR_RULES.get(calculation.calculator)
        domain[calculation.id] = set(known.words) if known else set()
    for rule in kb.rules.values():
        for fact, value in rule.then.derive.items():
            domain.setdefault(fact, set()).add(value)
    return domain
