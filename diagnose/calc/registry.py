"""Every calculator by name: whatever the modules of `diagnose.calc.calculators` hold."""

from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules

from diagnose.calc import calculators
from diagnose.calc.calculator import Calculator

_MODULES = [import_module(f"{calculators.__name__}.{found.name}") for found in iter_modules(calculators.__path__)]

CALCULATORS: Mapping[str, Calculator] = {
    each.name: each for module in _MODULES for each in vars(module).values() if isinstance(each, Calculator)
}
FOR_RULES: Mapping[str, Calculator] = {name: each for name, each in CALCULATORS.items() if each.words}
BY_HAND: Mapping[str, Calculator] = {name: each for name, each in CALCULATORS.items() if each.example}
