"""Which facts exist and which values each can take."""

from diagnose.calc.registry import FOR_RULES
from diagnose.model.gear import at
from diagnose.model.knowledge import Check, Finding, KnowledgeBase
from diagnose.model.profile import PROFILE_FACTS

Domain = dict[str, set[str]]  # a number has an empty set


def answers_of(check: Check) -> set[str]:
    """The words a check can be answered with; empty for a quantity."""
    if check.kind == "yes_no":
        return {"yes", "no"}
    return set(check.options) if check.kind == "choice" else set()


def setup_domain(kb: KnowledgeBase) -> Domain:
    """The facts that are known before anything is asked: profile, kinds of sensor, role."""
    domain: Domain = {name: set(v) if isinstance(v, tuple) else set() for name, v in PROFILE_FACTS.items()}
    domain |= {at(name, d.key): words for d in kb.gear for name, words in domain.items()}
    domain |= {f"fitted.{kind}": {"fitted", "none"} for kind in kb.kinds}
    domain["gear"] = {"several"}  # devices, by name
    domain["role"] = {"technician", "help_desk"}
    return domain


def fact_domain(kb: KnowledgeBase) -> Domain:
    """Every fact a rule, condition or calculation may name, with its possible words."""
    domain = setup_domain(kb)
    domain["complaint"] = set(kb.complaints)
    for check in kb.checks.values():
        domain.setdefault(check.fills or check.id, set()).update(answers_of(check))
    for calculation in kb.calculations.values():
        known = FOR_RULES.get(calculation.calculator)
        domain[calculation.id] = set(known.words) if known else set()
    for rule in kb.rules.values():
        for fact, value in rule.then.derive.items():
            domain.setdefault(fact, set()).add(value)
    return domain


def option_for(kb: KnowledgeBase, finding: Finding, state: str) -> str:
    """The option of the finding's check that says this state, or ''."""
    check, values = kb.checks.get(finding.check), finding.states[state]
    return check.options.get(values[0], "") if check and len(values) == 1 else ""
