"""Cable and supply. Evidence: [L] looked up, [L2] in a restatement, [M] from memory, [C] computed by formula."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.cable import (
    FLEXIBLE_MAX_OHM_PER_KM,
    Load,
    SupplyVerdict,
    awg_area_mm2,
    awg_diameter_mm,
    judge_supply,
    loop_resistance,
    resistance_per_km,
    supplies_along_run,
    supply_at_device,
    supply_constant_current,
    supply_constant_power,
    worst_resistance_per_km,
)
from diagnose.errors import CalculationError

KM_PER_1000_FT = 0.3048
AWG_TABLE = "[C=L] public AWG wire-resistance table, Ω/1000 ft; diameters ASTM B258"


@pytest.mark.parametrize(
    ("gauge", "diameter_mm", "area_mm2", "ohm_per_1000_ft", "source"),
    [
        (14, 1.6277, 2.0809, 2.525, AWG_TABLE),
        (16, 1.2908, 1.3087, 4.016, AWG_TABLE),
        (18, 1.0237, 0.8230, 6.385, AWG_TABLE),
        (20, 0.8118, 0.5176, 10.15, AWG_TABLE),
        (22, 0.6438, 0.3255, 16.14, AWG_TABLE),
        (24, 0.5106, 0.2047, 25.67, AWG_TABLE),
        (26, 0.4049, 0.1288, 40.81, AWG_TABLE),
    ],
)
def test_solid_awg_at_20_c(
    gauge: int, diameter_mm: float, area_mm2: float, ohm_per_1000_ft: float, source: str
) -> None:
    assert awg_diameter_mm(gauge) == pytest.approx(diameter_mm, rel=1e-3), source
    assert awg_area_mm2(gauge) == pytest.approx(area_mm2, rel=1e-3), source
    found = resistance_per_km(awg_area_mm2(gauge)) * KM_PER_1000_FT
    assert found == pytest.approx(ohm_per_1000_ft, rel=1e-3), source


@pytest.mark.parametrize(
    ("gauge", "stranded", "ohm_per_1000_ft", "source"),
    [
        (14, False, 3.07, "[L] NEC Ch. 9 Table 8, uncoated, 75 °C"),
        (12, False, 1.93, "[L] NEC Ch. 9 Table 8, uncoated, 75 °C"),
        (16, True, 4.99, "[L] NEC Ch. 9 Table 8 as given in a public NEC lesson"),
        (18, False, 7.77, "[M hi] NEC Ch. 9 Table 8"),
        (16, False, 4.89, "[M hi] NEC Ch. 9 Table 8"),
        (18, True, 7.95, "[M hi] NEC Ch. 9 Table 8"),
        (14, True, 3.14, "[M hi] NEC Ch. 9 Table 8"),
        (12, True, 1.98, "[M hi] NEC Ch. 9 Table 8"),
    ],
)
def test_nec_table_at_75_c(gauge: int, stranded: bool, ohm_per_1000_ft: float, source: str) -> None:
    found = resistance_per_km(awg_area_mm2(gauge), 75, stranded=stranded) * KM_PER_1000_FT
    assert found == pytest.approx(ohm_per_1000_ft, rel=5e-3), source


def test_a_cool_cable_measures_82_per_cent_of_the_75_c_table() -> None:
    assert resistance_per_km(1, 20) / resistance_per_km(1, 75) == pytest.approx(0.8223, abs=1e-4), (
        "[C=L] 'about 82 %'"
    )


@pytest.mark.parametrize(
    ("area_mm2", "largest", "over_ideal", "source"),
    [
        (0.5, 39.0, 1.131, "[L] IEC 60228 class 5, public knowledge base and two restatements"),
        (0.75, 26.0, 1.131, "[L] IEC 60228 class 5"),
        (1.0, 19.5, 1.131, "[L] IEC 60228 class 5"),
        (1.5, 13.3, 1.157, "[L] IEC 60228 class 5"),
        (2.5, 7.98, 1.157, "[L] IEC 60228 class 5"),
        (0.25, 79.0, 79 / 68.96, "[L2] VDE 0295 restated, column inferred; ideal 68.96 [C]"),
        (0.34, 57.0, 57 / 50.71, "[L2] VDE 0295 restated, column inferred; ideal 50.71 [C]"),
    ],
)
def test_flexible_conductors_may_exceed_the_ideal(
    area_mm2: float, largest: float, over_ideal: float, source: str
) -> None:
    assert worst_resistance_per_km(area_mm2) == largest, source
    assert worst_resistance_per_km(area_mm2) / resistance_per_km(area_mm2) == pytest.approx(over_ideal, abs=1e-3), (
        source
    )


@pytest.mark.parametrize("area_mm2", sorted(FLEXIBLE_MAX_OHM_PER_KM))
def test_the_worst_conductor_warms_like_any_copper(area_mm2: float) -> None:
    warm, cool = worst_resistance_per_km(area_mm2, 70), worst_resistance_per_km(area_mm2, 20)
    assert warm / cool == pytest.approx(1.1965, abs=1e-9), "[L] 0.00393 per kelvin"


def test_copper_warms_as_iec_60228_says() -> None:
    for temp_c in (-20, 0, 50, 75):
        iec = (234.5 + temp_c) / 254.5
        assert resistance_per_km(1, temp_c) / resistance_per_km(1) == pytest.approx(iec, abs=2e-4), (
            "[L] IEC 60228 annex"
        )


@pytest.mark.parametrize(
    ("source_v", "gauge", "length_m", "amperes", "temp_c", "device_v", "source"),
    [
        (24, 18, 60, 0.30, 20, 23.246, "[C]"),
        (12, 22, 100, 0.20, 20, 9.8815, "[C]"),
        (12, 22, 100, 0.20, 50, 9.6318, "[C]"),
        (24, 20, 100, 0.25, -20, 22.596, "[C]"),
    ],
)
def test_constant_current(
    source_v: float, gauge: int, length_m: float, amperes: float, temp_c: float, device_v: float, source: str
) -> None:
    supply = supply_constant_current(source_v, loop_resistance(length_m, awg_area_mm2(gauge), temp_c), amperes)
    assert supply.starts
    assert supply.device_v == pytest.approx(device_v, abs=0.002), source
    assert supply.drop_v == pytest.approx(source_v - device_v, abs=0.002), source


def test_a_published_voltage_drop_example() -> None:
    supply = supply_constant_current(24, 2 * 100 / 1000 * 4.99, 4)
    assert supply.drop_v == pytest.approx(4.0, abs=0.01), "[C=L] public NEC lesson prints 4.0 V"
    assert supply.drop_v / 24 == pytest.approx(0.167, abs=0.001), "[C=L] prints 16.7 %"


def test_the_published_example_from_our_own_copper() -> None:
    loop = 2 * 0.1 * KM_PER_1000_FT * resistance_per_km(awg_area_mm2(16), 75, stranded=True)
    assert supply_constant_current(24, loop, 4).drop_v == pytest.approx(3.992, abs=0.02), "[L] public NEC lesson"


@pytest.mark.parametrize(
    ("source_v", "gauge", "length_m", "watts", "loop_ohm", "device_v", "source"),
    [
        (24, 20, 100, 5, 6.6616, 22.5210, "[C] V = (Vs + √(Vs² - 4PR)) / 2"),
        (12, 22, 60, 5, 6.3554, 8.0549, "[C] near the cliff"),
    ],
)
def test_constant_power(
    source_v: float,
    gauge: int,
    length_m: float,
    watts: float,
    loop_ohm: float,
    device_v: float,
    source: str,
) -> None:
    loop = loop_resistance(length_m, awg_area_mm2(gauge))
    assert loop == pytest.approx(loop_ohm, abs=1e-3), source
    supply = supply_constant_power(source_v, loop, watts)
    assert supply.device_v == pytest.approx(device_v, abs=0.001), source
    assert supply.device_v * supply.current_a == pytest.approx(watts), "power is current times voltage"
    assert supply.current_a * loop == pytest.approx(supply.drop_v), "Ohm's law"


def test_the_largest_power_near_the_cliff() -> None:
    supply = supply_constant_power(12, loop_resistance(60, awg_area_mm2(22)), 5)
    assert supply.max_power_w == pytest.approx(5.664, abs=0.001), "[C] Vs²/4R"


def test_a_constant_power_device_that_cannot_start() -> None:
    supply = supply_constant_power(12, loop_resistance(80, awg_area_mm2(22)), 5)
    assert not supply.starts, "[C] 5 W is over the largest power"
    assert supply.max_power_w == pytest.approx(4.248, abs=0.001), "[C] Vs²/4R"


def test_a_constant_current_beyond_the_cable_cannot_flow() -> None:
    assert not supply_constant_current(12, 100, 0.2).starts


POWER = st.floats(min_value=0.0, max_value=3.0)
VOLTS = st.floats(min_value=9.0, max_value=30.0)


@given(VOLTS, POWER, st.floats(min_value=1, max_value=300))
def test_one_device_on_a_run_agrees_with_the_closed_form(source_v: float, watts: float, length_m: float) -> None:
    load, area = Load("constant power", watts), awg_area_mm2(22)
    closed = supply_at_device(source_v, loop_resistance(length_m, area), load)
    (swept,) = supplies_along_run(source_v, area, [(length_m, load)])
    if 0.999 < watts / closed.max_power_w < 1.001:
        return  # on the cliff itself rounding decides
    assert swept.starts == closed.starts
    assert swept.device_v == pytest.approx(closed.device_v, abs=1e-5)


@given(
    VOLTS,
    st.lists(
        st.tuples(
            st.floats(min_value=1, max_value=80),
            st.builds(Load, st.sampled_from(["constant power", "constant current"]), st.floats(0, 0.3)),
        ),
        min_size=1,
        max_size=4,
    ),
)
def test_a_run_obeys_kirchhoff(source_v: float, loads: list[tuple[float, Load]]) -> None:
    area = awg_area_mm2(20)
    supplies = supplies_along_run(source_v, area, loads)
    assert all(supply.starts for supply in supplies)
    for (distance, _), supply in zip(loads, supplies, strict=True):
        dropped = sum(
            loop_resistance(min(distance, other), area) * other_supply.current_a
            for (other, _), other_supply in zip(loads, supplies, strict=True)
        )
        assert supply.drop_v == pytest.approx(dropped, abs=1e-6)


def test_two_devices_in_any_order_by_hand() -> None:
    near, far = (10.0, Load("constant current", 0.1)), (30.0, Load("constant current", 0.2))
    area = 0.5
    ohm = 2 * 0.017241 / 0.5  # per metre of route
    expected_near, expected_far = 24 - 10 * ohm * 0.3, 24 - 10 * ohm * 0.3 - 20 * ohm * 0.2
    assert [s.device_v for s in supplies_along_run(24, area, [near, far])] == pytest.approx(
        [expected_near, expected_far]
    )
    assert [s.device_v for s in supplies_along_run(24, area, [far, near])] == pytest.approx(
        [expected_far, expected_near]
    )


def test_one_device_too_many_stops_them_all() -> None:
    loads = [(60.0, Load("constant power", 3.0)), (60.0, Load("constant power", 3.0))]
    area = awg_area_mm2(22)
    assert not any(supply.starts for supply in supplies_along_run(12, area, loads))
    assert supplies_along_run(12, area, loads[:1])[0].starts
    assert supplies_along_run(12, area, []) == ()


@pytest.mark.parametrize(
    ("measured_v", "verdict"),
    [
        (0.0, "none"),
        (0.4, "none"),
        (9.9, "low"),
        (21.8, "sags_below_expected"),
        (22.2, "good"),
        (23.5, "good"),
        (30.1, "high"),
        (-23.0, "good"),
    ],
)
def test_judging_a_supply(measured_v: float, verdict: SupplyVerdict) -> None:
    assert judge_supply(measured_v, 23.246, 10, 30) == verdict


def test_the_devices_minimum_comes_before_the_expected_value() -> None:
    assert judge_supply(9.5, 9.88, 10, 30) == "low", "the cable explains it, yet the device cannot run"


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: awg_area_mm2(99),
        lambda: resistance_per_km(0),
        lambda: resistance_per_km(1, -300),
        lambda: worst_resistance_per_km(0.6),
        lambda: loop_resistance(-1, 1),
        lambda: supply_constant_current(0, 1, 1),
        lambda: supply_constant_power(12, -1, 1),
        lambda: supply_constant_power(12, 1, -1),
        lambda: supplies_along_run(12, 1, [(-5.0, Load("constant current", 1))]),
        lambda: judge_supply(12, 12, 30, 10),
    ],
)
def test_numbers_without_meaning_are_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(CalculationError):
        impossible()
