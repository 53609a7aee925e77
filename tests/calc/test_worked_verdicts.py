"""What the calculators say at the gate, and what they draw."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.draw import bar, side_view, timeline
from tests.calc.lines import worked


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("supply source=24V length=60m area=0.5mm2 load=5W measured=23.1V", "look elsewhere"),
        ("supply source=24V length=60m area=0.5mm2 load=5W measured=21V", "bad joint"),
        ("supply source=24V length=60m area=0.5mm2 load=5W measured=0.2V", "No supply"),
        ("supply source=24V length=60m area=0.5mm2 load=5W measured=25V", "measure both again"),
        ("supply source=24V length=60m area=0.5mm2 load=5W measured=31V maximum=30V", "maximum"),
        ("supply source=24V length=60m area=0.5mm2 load=5W measured=9V minimum=10V", "under its minimum"),
        ("supply source=24V load=5W measured=20V", "without its length and area"),
        ("supply source=12V length=60m area=22AWG load=5W", "close to the cliff"),
        ("supply source=12V length=60m area=22AWG load=0.2A", "fit for this device"),
        ("supply source=12V length=80m area=22AWG load=5W", "cannot start"),
        ("supply source=12V length=80m area=22AWG load=5W measured=11.9V", "prove nothing"),
        ("supply_run source=12V area=22AWG dev=60m:3W dev=60m:3W", "cannot carry them all"),
        ("supply_run source=12V area=22AWG dev=60m:3W minimum=11.5V", "under its minimum"),
        ("cable length=60m area=0.5mm2 measured=OL", "Open"),
        ("cable length=60m area=0.5mm2 measured=9ohm", "joint"),
        ("contacts off=open clear=open blocked=open", "stuck"),
        ("contacts off=open clear=closed blocked=closed", "No sound contact"),
        ("contacts clear=closed", "More than one logic"),
        ("contacts off=open clear=closed", "missing reading"),
        ("monitored_test pulse=100ms response=100ms", "pulse ends before"),
        ("monitored_test pulse=1s response=100ms boot=4s window=500ms", "boots anew"),
        ("monitored_test pulse=1s response=100ms hold=1s window=500ms", "hold time is too long"),
        ("monitored_test pulse=1s response=100ms during=clear after=clear", "hold-to-run"),
        ("scan_height height=0.1m tilt=2deg distance=5m", "meets the road at 2.864 m"),
        ("scan_height height=0.1m distance=5m roll=5deg", "one side lies in the road"),
        ("scan_height height=0.6m distance=5m target=0.4m", "over the target"),
        ("scan_height height=0.3m distance=5m target=0.4m", "cuts the target"),
        ("spots distance=10m step=1deg width=100mm", "can be missed"),
        ("travel height=0.25m near=1m far=5m bottom=0.2m top=1.5m", "cuts the scan"),
        ("travel height=0.25m near=1m far=5m bottom=0.27m top=1.5m", "too little"),
        ("trailer gap=1.5m speed=5km/h hold=1s", "may close on the trailer"),
        ("trailer gap=1.5m speed=5km/h hold=1.2s", "bridges the gap"),
        ("stopping speed=1m/s delay=0.5s braking=1s gap=1m", "does not stop in time"),
        ("iso_13855 stop_time=0.5s capability=30mm actual=900mm", "28 mm too near"),
        ("iso_13855 stop_time=0.5s capability=30mm actual=930mm", "proves no conformity"),
        ("rain rate=100mm/h distance=5m", "drops on the window"),
        ("fog visibility=20m distance=10m", "blind the sensor"),
        ("sun latitude=51.5 longitude=0 when=2025-12-21T15:30Z look=227", "in the sensor's eye"),
        ("sun latitude=51.5 longitude=0 when=2025-12-21T15:30Z look=47", "the other way"),
        ("sun latitude=51.5 longitude=0 when=2025-12-21T23:30Z look=227", "The sun is down"),
        ("loop long=2 short=1 turns=3 measured=OL", "broken"),
        ("loop long=2 short=1 turns=3 insulation=0.2Mohm", "phantom"),
        ("loop long=2 short=1 turns=3 inductance=20uH", "count them"),
        ("loop long=1 short=0.5 turns=1 lead_in=200m", "lead-in has more inductance"),
        ("edge measured=OL", "Open"),
        ("edge measured=8.2k", "healthy"),
        ("edge measured=0", "Pressed or shorted"),
        ("edge measured=9k", "series"),
    ],
)
def test_the_plain_verdict(line: str, says: str) -> None:
    assert says in worked(line).meaning, "judgement; the limits behind it are tested with their calculators"


def test_a_wet_road_is_told_from_the_sun_itself() -> None:
    said = worked("sun latitude=51.5 longitude=0 when=2025-12-21T14:00Z look=207 elevation=-11").meaning
    assert "mirror image" in said


def test_a_measured_resistance_is_compared_with_loops_own_limit() -> None:
    assert "dull" not in worked("loop long=2.4 short=1.2 turns=4 measured=1ohm").meaning
    assert "re-make the splice" in worked("loop long=2.4 short=1.2 turns=4 measured=6ohm").meaning


def test_the_truth_table_marks_the_row_that_fits() -> None:
    drawing = worked("contacts off=closed clear=open blocked=closed").drawing
    assert [row for row in drawing if row.startswith(">")] == ["> NC, on at clear  closed   open  closed"]


def test_the_edge_bands_mark_the_measured_one() -> None:
    for ohm, band in (("8.2k", "healthy"), ("5k", "leakage"), ("2k", "leakage"), ("OL", "open"), ("9k", "added")):
        marked = [row for row in worked(f"edge measured={ohm}").drawing if row.startswith(">")]
        assert len(marked) == 1 and band in marked[0]


def test_the_side_view_shows_where_the_part_cuts_the_plane() -> None:
    assert not any("X" in row for row in worked("travel height=0.25 near=1 far=5 bottom=0.9 top=1.5").drawing)
    assert any("X" in row for row in worked("travel height=1 near=1 far=5 bottom=0.9 top=1.5").drawing)


def test_a_plane_that_meets_the_road_ends_there() -> None:
    drawn = "".join(row[7:] for row in side_view(10, lambda at: 0.5 - at / 5) if "*" in row)
    assert 0 < drawn.count("*") <= 9, "the road is met at 2.5 of 10 m: a quarter of 30 columns"


def test_the_time_line_is_to_scale() -> None:
    (row,) = timeline([("test", 0.25, 0.5)], 1.0)
    marks = row[10:]
    assert (marks.index("#"), marks.count("#")) == (7, 7), "a quarter of 29 columns"


@given(st.floats(0, 2), st.integers(1, 30))
def test_a_bar_is_as_long_as_its_share(share: float, width: int) -> None:
    drawn = len(bar(share, width))
    assert drawn <= width
    assert abs(drawn - min(share, 1) * width) <= 1


def test_the_sun_path_marks_hour_and_nearness() -> None:
    drawing = worked("sun latitude=51.5 longitude=0 when=2025-12-21T15:30Z look=221").drawing
    assert [row for row in drawing if row.startswith(">")] == [row for row in drawing if "15:00" in row]
    assert "*" in next(row for row in drawing if "15:00" in row)
    assert "*" not in next(row for row in drawing if "10:00" in row)


def test_no_sun_path_without_a_sunrise() -> None:
    found = worked("sun latitude=75N longitude=20E when=2025-12-21T12:00+01:00 look=180")
    assert not found.drawing
    assert dict(found.results)["nearest that day, on the hour"] == "the sun does not rise"
