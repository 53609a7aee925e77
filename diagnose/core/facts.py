"""Setup and answers -> facts; readings pass through the named calculators with the profile's numbers."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diagnose.calc.calculator import Finished
from diagnose.calc.registry import FOR_RULES
from diagnose.errors import CalculationError
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.rules import Calculation
from diagnose.model.visit import Answer, Fact, Setup, Value


@dataclass(frozen=True, slots=True)
class Known:
    """`values` holds one value per fact name; `outcomes` keeps each calculation's sentence."""

    values: Mapping[str, Value]
    outcomes: Mapping[str, Finished]

    @property
    def facts(self) -> frozenset[Fact]:
        """The word facts; numbers are for calculators only."""
        return frozenset((name, value) for name, value in self.values.items() if isinstance(value, str))


def fact_name(check: Check) -> str:
    return check.fills or check.id


def facts_of_setup(kb: KnowledgeBase, setup: Setup) -> dict[str, Value]:
    """What is known before anything is asked: profile, role, the kinds of sensor where they are known."""
    values: dict[str, Value] = {**setup.facts, "role": setup.role}
    if setup.devices:
        values |= {f"fitted.{kind}": "fitted" if kind in setup.devices else "none" for kind in kb.kinds}
    return values


def gather(kb: KnowledgeBase, setup: Setup, complaint: str, answers: Iterable[Answer]) -> Known:
    """Everything established directly: profile, set-up, complaint, answers, calculations. Later answers win."""
    values = facts_of_setup(kb, setup)
    if complaint:
        values["complaint"] = complaint
    for answer in answers:
        if answer.says_something and answer.check in kb.checks:
            values[fact_name(kb.checks[answer.check])] = answer.value
    outcomes = _calculate(kb, values)
    return Known(values, outcomes)


def _calculate(kb: KnowledgeBase, values: dict[str, Value]) -> dict[str, Finished]:
    """Run every calculation whose inputs are there; twice, so that one may feed another."""
    outcomes: dict[str, Finished] = {}
    for _ in range(2):
        for calculation in kb.calculations.values():
            outcome = None if calculation.id in outcomes else run_calculation(calculation, values)
            if outcome is not None:
                outcomes[calculation.id] = outcome
                values[calculation.id] = outcome.word
    return outcomes


def run_calculation(calculation: Calculation, values: Mapping[str, Value]) -> Finished | None:
    """The calculator's outcome, or None while a required input is unknown or its numbers make no sense."""
    calculator = FOR_RULES[calculation.calculator]
    given: dict[str, Value] = dict(calculation.constants)
    given |= {param: values[fact] for param, fact in calculation.inputs.items() if fact in values}
    if calculation.unit:
        given["unit"] = calculation.unit
    if any(param not in given for param in calculator.required):
        return None
    try:
        return calculator.judge(**given)
    except CalculationError:
        return None
