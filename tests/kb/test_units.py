"""Numbers that a calculation says come in the unit of the reading that was given."""

from diagnose.core.facts import run_calculation
from tests.shipped import knowledge


def test_a_calculation_says_its_numbers_with_their_unit() -> None:
    height = run_calculation(knowledge().calculations["las_height_verdict"], {"las_window_height": 0.2})
    assert height is not None
    assert (height.word, height.says) == ("below", "value 200 mm; limits 300 mm to 550 mm")


def test_every_calculation_with_readings_in_a_unit_says_it() -> None:
    checks = {c.fills or c.id: c.unit for c in knowledge().checks.values() if c.unit}
    for calculation in knowledge().calculations.values():
        given = [checks[f] for f in calculation.inputs.values() if f in checks]
        if given and calculation.calculator in ("within", "difference"):
            assert calculation.unit == given[0], calculation.id
