"""Lints over rules and calculations."""

from collections.abc import Mapping

from diagnose.calc.registry import FOR_RULES
from diagnose.kb.domain import answers_of, fact_domain
from diagnose.kb.lint_causes import Found, unknown
from diagnose.kb.lint_checks import condition_problems
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.rules import Calculation, Rule
from diagnose.words import say

NOT_WORTH_ASKING = "skip"  # settled so, a check is neither asked nor scored


def rules(kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    for rule in kb.rules.values():
        here = ("rules", rule.id)
        yield from condition_problems((*here, "when"), rule.when, domain)
        yield from unknown((*here, "source"), [rule.source], kb.sources, "source")
        if not rule.when:
            yield (*here, "when"), say("knowledge.rule_needs_condition")
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
            yield (*here, "settle", check_id), say("knowledge.no_answer_of", answer=answer, check=check_id)
    for fact in set(then.derive) & (set(kb.checks) | set(kb.calculations)):
        yield (*here, "derive", fact), say("knowledge.is_check", fact=fact)
    yield from _stop(rule, kb)
    if not any(
        (then.derive, then.settle, then.exclude, then.caution, then.stop_work, then.contradiction, then.unlock)
    ):
        yield here, say("knowledge.the_rule_does_nothing")


def _stop(rule: Rule, kb: KnowledgeBase) -> Found:
    if not rule.then.stop_work:
        return
    caution = kb.cautions.get(rule.then.stop_work)
    if caution is None or not caution.stop_work:
        yield (
            ("rules", rule.id, "then", "stop_work"),
            say("knowledge.no_stop_work", name=rule.then.stop_work),
        )


def calculations(kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    units = {check.fills or check.id: check.unit for check in kb.checks.values()}
    for calculation in kb.calculations.values():
        here = ("calculations", calculation.id)
        yield from unknown((*here, "source"), [calculation.source], kb.sources, "source")
        yield from unknown((*here, "inputs"), calculation.inputs.values(), domain, "fact")
        yield from _parameters(calculation, units)


def _parameters(calculation: Calculation, units: Mapping[str, str]) -> Found:
    here = ("calculations", calculation.id)
    calculator = FOR_RULES.get(calculation.calculator)
    if calculator is None:
        yield (*here, "calculator"), say("knowledge.unknown", known=", ".join(FOR_RULES))
        return
    given = {*calculation.inputs, *calculation.constants}
    inputs = {each.name: each for each in calculator.inputs}
    yield from unknown((*here, "inputs"), given, inputs, "parameter")
    for missing in set(calculator.required) - given:
        yield (*here, "inputs"), say("knowledge.parameter_needed", missing=missing)
    for name, fact in calculation.inputs.items():
        wanted, unit = inputs[name].unit if name in inputs else "", units.get(fact)
        if wanted and unit and wanted != unit:
            yield (
                (*here, "inputs", name),
                say("knowledge.unit_differs", fact=fact, unit=unit, name=name, wanted=wanted),
            )


LINTS = (rules, calculations)
