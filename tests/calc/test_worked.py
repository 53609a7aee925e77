"""The calculators a technician uses: figures of published or independently computed rows, each with its source.

Evidence: [L] looked up, [L2] in a restatement, [M] from memory, [C] computed by formula.
"""

import re
from math import sqrt

import pytest
from rich.cells import cell_len

from diagnose.calc.cable import awg_area_mm2, loop_resistance
from diagnose.calc.calculator import Calculator
from diagnose.calc.draw import WIDEST
from diagnose.calc.registry import BY_HAND
from diagnose.calc.units import format_reading
from tests.calc.lines import results, worked


def leading_number(text: str) -> float:
    match = re.match(r"[+-]?[0-9.]+", text)
    assert match, text
    return float(match[0])


@pytest.mark.parametrize("calculator", BY_HAND.values(), ids=list(BY_HAND))
def test_every_calculator_runs_from_its_documented_example(calculator: Calculator) -> None:
    found = worked(calculator.example)
    for part in (found.inputs, found.formula, found.results, found.meaning, found.source):
        assert part
    assert found.drawing or calculator.words, "a verdict for the rules has no drawing"
    assert found.meaning.endswith("."), found.meaning
    assert all(cell_len(row) <= WIDEST and row == row.rstrip() for row in found.drawing), found.drawing


@pytest.mark.parametrize(
    ("line", "row", "expected", "source"),
    [
        ("supply source=24V length=60m area=18AWG load=0.3A", "at the device", "23.25 V", "[C] check 23.246 V"),
        ("supply source=12V length=100m area=22AWG load=0.2A temp=50C", "at the device", "9.632 V", "[C] 9.6318"),
        ("supply source=24V length=100m area=20AWG load=0.25A temp=-20C", "at the device", "22.6 V", "[C] 22.596"),
        ("supply source=24V length=100m area=20AWG load=5W", "at the device", "22.52 V", "[C] 22.5210 V"),
        ("supply source=12V length=60m area=22AWG load=5W", "at the device", "8.055 V", "[C] 8.0549 V"),
        ("supply source=12V length=80m area=22AWG load=5W", "at the device", "it cannot start", "[C] over 4.248 W"),
        ("sag idle=24V loaded=20.4V", "sags", "24.0 V idle, 20.4 V under load (15 % down); at least 19.2 V needed",
         "[C] 3.6 V of 24 V; 80 % of 24 V"),
        ("scan_level near=0.3m far=0.36m", "tilted up", "height difference 60 mm; limits -30 mm to 30 mm", "[C]"),
        ("cable length=1000m area=18AWG strands=solid", "one conductor", "20.95 Ω per km", "[C=L] AWG 6.385"),
        ("cable length=100m area=0.5mm2", "most a flexible one may have", "7.8 Ω", "[L] IEC 60228: 39 Ω/km"),
        ("scan_height height=0.25m tilt=1deg distance=5m", "height at 5 m", "162.7 mm", "[C] 0.16272 m"),
        ("scan_height height=0.25m tilt=1deg distance=5m", "meets flat ground", "at 14.32 m", "[C] 14.3225 m"),
        ("scan_height height=0.25 distance=3 roll=2", "3 m out, 90° to each side", "145.3 mm and 354.7 mm", "[C]"),
        ("spots distance=5m step=0.35deg hits=3", "smallest sure 3-beam hit", "91.63 mm", "[C] trigonometry"),
        ("spots distance=5 step=1 incidence=60", "spacing on a surface at 60°", "174.5 mm", "[C] twice 87.266"),
        ("spots distance=5 step=1 window=8mm divergence=3mrad", "spot diameter", "23 mm", "[C] 8 + 5 * 3"),
        ("travel height=0.25 tilt=1 near=0 far=5 bottom=0.3 top=1.5", "gap to the moving part",
         "50 mm (wanted 50 mm or more)", "[C] 0.05 m"),
        ("trailer gap=1.5m speed=5km/h", "gap lasts", "1.08 s", "[C] 1.5 m at 5 km/h"),
        ("stopping speed=1ft/s delay=0.22s deceleration=0.5", "stands still after", "829.6 ms, 160 mm",
         "[C] kinematics by hand: 0.3048 * 0.22 + 0.3048² / 1"),
        ("stopping speed=0.5 delay=0.05 delay=0.1 braking=0.5s", "braking", "500 ms, 125 mm", "[C] kinematics"),
        ("arm_tip radius=3m time=1.5s", "peak speed", "4.93 m/s (17.8 km/h)", "[C] 4.935 m/s"),
        ("iso_13855 stop_time=0.25s capability=30mm", "least distance", "528 mm", "[C] ISO 13855:2010, from memory"),
        ("iso_13855 stop_time=0.3s capability=14mm", "least distance", "500 mm", "[C] ISO 13855:2010, from memory"),
        ("iso_13855 stop_time=0.3s approach=along plane_height=300mm", "least distance", "1560 mm", "[C] 2010"),
        ("iso_13855 stop_time=0.3s capability=14mm", "method", "ISO 13855, 2010 method", "always labelled"),
        ("fog visibility=50m distance=10m", "light left", "21% over 10 m there and back", "[C] 0.209"),
        ("rain rate=25mm/h distance=5m", "light lost", "6.9 to 12 dB per km, by which law", "[L2] ITU 6.9, [C] 12.0"),
        ("rain rate=10mm/h distance=3m", "drop over 1 mm in the beam", "21.2% of the time", "[C] 0.212"),
        ("snow rate=2mm/h distance=5m", "light lost by rate", "wet 6.39 dB per km, dry 14.4 dB per km", "[C], [L2]"),
        ("snow visibility=400m distance=5m", "snowfall", "heavy by visibility", "[L2] weather-service bands"),
        ("sun latitude=39.742476 longitude=105.1786W when=2003-10-17T12:30-07:00 look=194", "sun",
         "39.9° high at 194.2° from north",
         "[L] NREL/TP-560-34302: 39.888° and 194.340° at 12:30:30; 30 s earlier is 0.17° less"),
        ("loop long=6ft short=6ft turns=3", "loop", "72 µH ±20%, lead-in 0 mH", "trade rule [M hi]: 72 µH"),
        ("loop long=6ft short=6ft turns=3", "sees a floor up to", "1.219 m high", "trade rule [M hi]: 1.22 m"),
        ("loop long=6ft short=6ft turns=3 lead_in=100ft", "series resistance", "0.6869 Ω by its copper",
         "[C] 272 ft of 8.285 Ω/km"),
        ("loop long=2 short=1 turns=3", "-1 % inductance", "shifts the frequency +0.50%", "[C] 0.00504"),
        ("edge measured=4100", "class", "two terminators in parallel", "common practice, no source"),
        ("edge measured=6k", "leak beside the resistor", "22.36 kΩ", "[C] 6 * 8.2 / 2.2"),
        ("contacts off=open clear=closed blocked=open", "contact", "normally open (NO)", "IEC/NEMA truth table"),
        ("contacts off=open clear=closed blocked=open", "relay coil", "de-energise on detect", "IEC/NEMA table"),
        ("monitored_test pulse=150 response=100 window=500", "pulse to spare", "30 ms", "[C] 150 - 100 - 20"),
        ("monitored_test pulse=150 response=100 window=500", "window to spare", "380 ms", "[C] 500 - 100 - 20"),
    ],
)  # fmt: skip
def test_figures(line: str, row: str, expected: str, source: str) -> None:
    assert results(line)[row] == expected, source


def test_fog_against_the_published_tables() -> None:
    lost = results("fog visibility=200m distance=5m wavelength=785nm")["light lost"]
    kim, kruse = (float(number) for number in re.findall(r"[0-9.]+", lost))
    assert kim == pytest.approx(85, abs=0.5), "[C=L] Kim et al. 2001, printed in whole dB"
    assert kruse == pytest.approx(75, abs=0.5), "[C=L] Kim et al. 2001, Kruse table"


def test_a_run_by_hand() -> None:
    ohm_per_m = 2 * 0.017241 / 0.5
    near = 24 - 10 * ohm_per_m * 0.3
    far = near - 20 * ohm_per_m * 0.2
    found = worked("supply_run source=24V area=0.5mm2 dev=10m:100mA dev=30m:0.2A")
    assert dict(found.results)["lowest"] == f"{format_reading(far, 'V')} at 30 m", "[C] Kirchhoff by hand"
    assert any(format_reading(near, "V") in row for row in found.drawing)


def test_what_a_measured_drop_means_in_ohms() -> None:
    found = results("supply source=24V length=60m area=0.5mm2 load=0.5A measured=20V")
    copper = 2 * 60 * 0.017241 / 0.5
    assert leading_number(found["measured drop means"]) == pytest.approx(8), "[C] 4 V over 0.5 A"
    assert leading_number(found["more than the copper"]) == pytest.approx(8 - copper, abs=1e-3), "[C]"


def test_a_short_on_the_way_is_located_in_proportion() -> None:
    whole = 2 * 100 / 1000 * 34.482 * 1.02  # by hand: 0.5 mm², 20 °C, stranded
    said = worked(f"cable length=100m area=0.5mm2 measured={whole * 0.4:.3f}ohm").meaning
    match = re.search(r"about ([0-9.]+) m out", said)
    assert match and float(match[1]) == pytest.approx(40, abs=0.1), "[C] resistance goes with length"


def test_two_heights_give_tilt_and_mounting_height_back() -> None:
    found = results("scan_height distance=5m near=1m near_height=0.4m far=4m far_height=0.1m")
    assert leading_number(found["tilt"]) == pytest.approx(5.71, abs=0.01), "[C] atan(0.1)"
    assert found["height at the sensor"] == "500 mm", "[C]"
    assert found["meets flat ground"] == "at 5 m", "[C]"


def test_the_power_cliff_is_at_half_the_source() -> None:
    """The largest power a cable passes leaves half the source: the figure behind NEAR_CLIFF_SHARE."""
    loop = loop_resistance(60, awg_area_mm2(22))
    most = 12**2 / (4 * loop)
    assert (12 + sqrt(12**2 - 4 * most * 0.999999 * loop)) / 2 == pytest.approx(6, abs=0.01), "[C] algebra"
