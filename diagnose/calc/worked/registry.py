"""Every calculator a technician may use, by name, in the order of the list."""

from collections.abc import Mapping

from diagnose.calc.worked import copper, geometry, ground, motion, output, sky, supply, weather
from diagnose.calc.worked.shape import Calculator

WORKED: Mapping[str, Calculator] = {
    calculator.name: calculator
    for family in (supply, copper, output, geometry, motion, weather, sky, ground)
    for calculator in family.CALCULATORS
}
