"""Lints over rules and calculations."""

from diagnose.calc.registry import CALCULATORS
from diagnose.kb.domain import answers_of, fact_domain
from diagnose.kb.lint_causes import Found, unknown
from diagnose.kb.lint_checks import condition_problems
from diagnose.model.knowledge import Calculation, KnowledgeBase, Rule

NOT_WORTH_ASKING = "skip"  # settled so, a check is neither asked nor scored


def rules(kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    for rule in kb.rules.values():
        here = ("rules", rule.id)
        yield from condition_problems((*here, "when"), rule.when, domain)
        yield from unknown((*here, "source"), [rule.source], kb.sources, "source")
        if not rule.when:
            yield (*here, "when"), "a rule needs at least one condition"
        yield from _effects(rule, kb)


def _effects(rule: Rule, kb: KnowledgeBase) -> Found:
    then, here = rule.then, ("rules", rule.id, "then")
    yield from unknown((*here, "exclude"), then.exclude, kb.causes, "cause")
    yield from unknown((*here, "caution"), then.caution, kb.cautions, "caution")
    yield from unknown((*here, "unlock"), then.unlock, kb.checks, "check")
    yield from unknown((*here, "settle"), then.settle, kb.checks, "check")
    if then.contradiction:
        yield from unknown((*here, "contradiction"), then.contradiction.recheck, kb.checks, "check")
    for check_id, answer in then.settle.items():
        check = kb.checks.get(check_id)
        if check and answer not in {*answers_of(check), NOT_WORTH_ASKING}:
            yield (*here, "settle", check_id), f"'{answer}' is not an answer of '{check_id}'"
    for fact in set(then.derive) & (set(kb.checks) | set(kb.calculations)):
        yield (*here, "derive", fact), f"'{fact}' is a check or calculation; settle it or use another name"
    yield from _stop(rule, kb)
    if not any(
        (then.derive, then.settle, then.exclude, then.caution, then.stop_work, then.contradiction, then.unlock)
    ):
        yield here, "the rule does nothing"


def _stop(rule: Rule, kb: KnowledgeBase) -> Found:
    if not rule.then.stop_work:
        return
    caution = kb.cautions.get(rule.then.stop_work)
    if caution is None or not caution.stop_work:
        yield (
            ("rules", rule.id, "then", "stop_work"),
            f"'{rule.then.stop_work}' is not a caution with stop_work: true",
        )


def calculations(kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    for calculation in kb.calculations.values():
        here = ("calculations", calculation.id)
        yield from unknown((*here, "source"), [calculation.source], kb.sources, "source")
        yield from unknown((*here, "inputs"), calculation.inputs.values(), domain, "fact")
        yield from _parameters(calculation)


def _parameters(calculation: Calculation) -> Found:
    here = ("calculations", calculation.id)
    calculator = CALCULATORS.get(calculation.calculator)
    if calculator is None:
        yield (*here, "calculator"), f"unknown; known: {', '.join(CALCULATORS)}"
        return
    given = {*calculation.inputs, *calculation.constants}
    yield from unknown((*here, "inputs"), given, (*calculator.required, *calculator.optional), "parameter")
    for missing in set(calculator.required) - given:
        yield (*here, "inputs"), f"parameter '{missing}' is required"


LINTS = (rules, calculations)
