"""How a rule or a calculation reads at one device, or at the site, of a gate with several devices."""

from collections.abc import Iterable
from dataclasses import replace

from diagnose.core.at_place import At
from diagnose.model.named import Words
from diagnose.model.rules import Calculation, Rule, Then


def rule_at(here: At, rule: Rule) -> Rule:
    then, places = rule.then, here.places
    doubt = then.contradiction
    recheck = here.ids(places.checks, doubt.recheck) if doubt else ()
    settle = {c: v for check, value in then.settle.items() for c, v in _settled(here, check, value)}
    derive = {f: v for fact, v in then.derive.items() for f in _derived(here, rule, fact)}
    return replace(
        rule,
        id=here.id(rule.id),
        says=here.named(rule.says),
        when=here.condition(rule.when, rule.elsewhere),
        then=Then(
            derive=derive,
            settle=settle,
            exclude=here.ids(places.causes, then.exclude),
            caution=then.caution,
            stop_work=then.stop_work,
            contradiction=replace(doubt, says=here.named(doubt.says), recheck=recheck) if doubt else None,
            unlock=here.ids(places.checks, then.unlock),
        ),
    )


def _derived(here: At, rule: Rule, fact: str) -> Words:
    return (fact,) if rule.of == "site" else here.facts(fact)


def _settled(here: At, check: str, value: str) -> Iterable[tuple[str, str]]:
    values = here.options(here.places.belongs.each(check), value)
    return ((c, v) for c in here.each(here.places.checks, check) for v in values)


def calculation_at(here: At, calculation: Calculation) -> Calculation:
    known = {parameter: fact for parameter, fact in calculation.inputs.items() if _has(here, fact)}
    return replace(
        calculation,
        id=here.id(calculation.id),
        says=here.named(calculation.says),
        inputs={parameter: here.fact(fact) for parameter, fact in known.items()},
    )


def _has(here: At, fact: str) -> bool:
    return here.places.has_fact(fact, here.key) if here.device else not here.places.belongs.is_fact(fact)
