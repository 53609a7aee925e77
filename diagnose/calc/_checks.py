"""Refusals shared by the calculators."""

from diagnose.errors import CalculationError


def positive(value: float, name: str) -> float:
    """`value` when above zero, else CalculationError."""
    if not value > 0:
        raise CalculationError(f"The {name} must be above zero.")
    return value


def not_negative(value: float, name: str) -> float:
    """`value` when zero or more, else CalculationError."""
    if not value >= 0:
        raise CalculationError(f"The {name} cannot be negative.")
    return value
