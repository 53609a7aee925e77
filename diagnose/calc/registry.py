"""The calculators a knowledge base may name: what each needs and which words it can return."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.calc import verdicts as v
from diagnose.calc.verdicts import Outcome

Inputs = Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class Calculator:
    """`words` are the verdicts it can return, normal first."""

    says: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    words: tuple[str, ...]
    run: Callable[..., Outcome]


LOGIC_WORDS = ("eod_no", "eod_nc", "dod_no", "dod_nc", "stuck_open", "stuck_closed", "inconsistent")

CALCULATORS: Mapping[str, Calculator] = {
    "supply_at_device": Calculator(
        "measured supply against limits and against what the cable should leave",
        ("measured",),
        ("source", "length", "area", "load_w", "load_a", "minimum", "maximum", "temperature"),
        ("good", "high", "below_expected", "low", "none"),
        v.supply_at_device,
    ),
    "contact_logic": Calculator(
        "which contact logic three readings (sensor off, clear, blocked) belong to",
        ("off", "clear", "blocked"),
        (),
        LOGIC_WORDS,
        v.contact_logic,
    ),
    "signal_chain": Calculator(
        "where lamp, contact and controller input stop agreeing",
        ("lamp", "contact", "logic"),
        ("input", "sense"),
        ("agrees", "breaks_at_contact", "breaks_at_input"),
        v.signal_chain,
    ),
    "scan_level": Calculator(
        "heights of the scan straight out and at right angles",
        ("near", "far"),
        ("tolerance",),
        ("level", "tilted_up", "tilted_down"),
        v.scan_level,
    ),
    "within": Calculator(
        "a number against limits", ("value",), ("low", "high"), ("inside", "below", "above"), v.within
    ),
    "difference": Calculator(
        "two numbers against each other",
        ("a", "b", "tolerance"),
        (),
        ("equal", "a_larger", "b_larger"),
        v.difference,
    ),
    "ratio": Calculator(
        "a divided by b against limits", ("a", "b", "low", "high"), (), ("inside", "below", "above"), v.ratio
    ),
    "test_timing": Calculator(
        "monitored-test pulse against response and release; output hold against the test window",
        ("pulse_ms", "response_ms"),
        ("release_ms", "hold_ms", "window_ms"),
        ("good", "pulse_too_short", "hold_too_long"),
        v.test_timing,
    ),
    "insulation": Calculator(
        "loop or cable insulation to earth", ("mohm",), (), ("good", "suspect", "failed"), v.insulation
    ),
    "loop_resistance": Calculator(
        "series resistance of a loop with its lead-in against what the copper should have",
        ("measured",),
        ("turns", "perimeter", "lead_in", "area"),
        ("good", "shorted", "high", "open"),
        v.loop_resistance,
    ),
    "edge_resistance": Calculator(
        "resistance of a resistor-terminated safety edge",
        ("measured",),
        ("terminator",),
        ("healthy", "leaking", "two_terminators", "pressed_or_short", "open"),
        v.edge_resistance,
    ),
    "sag": Calculator(
        "supply idle against supply with the drive starting",
        ("idle", "loaded"),
        ("minimum",),
        ("steady", "sags", "drops_out"),
        v.sag,
    ),
    "sun_in_view": Calculator(
        "whether the sun can stand near the look direction",
        ("azimuth", "latitude", "longitude", "month", "hour"),
        ("elevation",),
        ("clear_of_sun", "near_sun"),
        v.sun_in_view,
    ),
}
