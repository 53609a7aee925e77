"""T12: what the posterior states comes true, within chance, on thousands of drawn cases."""

import pytest

from diagnose.core.compile import compile_network
from diagnose.measure.calibration import Calibration, calibration
from diagnose.measure.inference import CASES, stated
from tests.measure.test_runs import made
from tests.shipped import knowledge


def held(cases: int, devices: tuple[str, ...] | None) -> Calibration:
    kb = made() if devices is None else knowledge()
    said, right = zip(*stated(kb, compile_network(kb, devices or ()), 1, cases), strict=True)
    return calibration(said, right)


def test_a_small_made_up_knowledge_base() -> None:
    """Source: exact inference is calibrated under its own model; bounds are those of chance."""
    found = held(2000, None)
    assert found.consistent
    assert found.error < 2 * found.by_chance
    assert abs(found.brier - found.brier_expected) < 1.5 * found.brier_margin


@pytest.mark.long
@pytest.mark.parametrize("devices", [("laser",), ()])
def test_the_shipped_knowledge(devices: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Target T12: error <= 0.02 on 5,000 cases, mean stated within 3 standard errors of come true."""
    found = held(CASES, devices)
    with capsys.disabled():
        print(
            f"\n{devices}: error {found.error:.4f} by chance {found.by_chance:.4f} brier {found.brier:.4f}", end=" "
        )
        print(f"expected {found.brier_expected:.4f} ± {found.brier_margin:.4f}")
    assert found.consistent and found.error <= 0.02
    assert abs(found.brier - found.brier_expected) < 1.5 * found.brier_margin
