"""Numbers -> one word a rule can use, with the sentence that shows the arithmetic.

Words arrive as strings and numbers as floats in the units named; every keyword is a parameter a knowledge base
may fill from answers, profiles and constants.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import inf
from typing import get_args

from diagnose.calc import cable, contacts, edges, loops
from diagnose.calc.monitored_test import PulseTimes, timing
from diagnose.calc.sun import Direction, glare, sun_position
from diagnose.errors import CalculationError

ASSUMED_RUN_DROP = 0.10  # share of the source a run of unknown length may lose before it is called a fault
SUN_NEARNESS_DEG = 15.0  # the asked month and hour are coarse; judgement
ASSUMED_RELEASE_MS = 20.0  # of an ordinary small relay; judgement
LOOP_EXCESS_OHM = 1.0  # above what the copper explains; judgement
OPEN_LOOP_OHM = 200.0


@dataclass(frozen=True, slots=True)
class Outcome:
    """One word for the rules and one sentence for the person."""

    word: str
    says: str


def supply_at_device(
    *,
    measured: float,
    source: float | None = None,
    length: float | None = None,
    area: float | None = None,
    load_w: float | None = None,
    load_a: float | None = None,
    minimum: float | None = None,
    maximum: float | None = None,
    temperature: float = 20.0,
) -> Outcome:
    """Measured volts against the device's limits and what the cable should leave. V, m, mm2, W, A, degC.

    With the source unknown only the limits judge; with both unknown there is nothing to judge by.
    """
    if source is None and minimum is None and abs(measured) >= cable.NO_SUPPLY_BELOW_V:
        raise CalculationError("neither the source volts nor the device's minimum is known")
    low = minimum if minimum is not None else 0.85 * (source or 0.0)
    high = maximum if maximum is not None else 1.25 * source if source is not None else inf
    expected, how = _expected_supply(source, length, area, load_w, load_a, temperature)
    word = cable.judge_supply(measured, expected, low, high)
    says = f"{measured:.1f} V measured; {how}; limits {low:.1f} to {high:.1f} V"
    return Outcome("below_expected" if word == "sags_below_expected" else word, says)


def _expected_supply(
    source: float | None,
    length: float | None,
    area: float | None,
    load_w: float | None,
    load_a: float | None,
    temp_c: float,
) -> tuple[float, str]:
    if source is None:
        return 0.0, "source not known"
    if length == 0:
        return source, f"{source:.1f} V wanted"
    if length is None or area is None or (load_w is None and load_a is None):
        expected = source * (1.0 - ASSUMED_RUN_DROP)
        return expected, f"{source:.1f} V over an unknown run (10 % allowed) should leave {expected:.1f} V"
    load = (
        cable.Load("constant power", load_w) if load_w is not None else cable.Load("constant current", load_a or 0.0)
    )
    supply = cable.supply_at_device(source, cable.loop_resistance(length, area, temp_c), load)
    how = f"{source:.1f} V over {length:g} m of {area:g} mm2"
    if not supply.starts:
        return 0.0, how + " cannot start this device"
    return supply.device_v, f"{how} should leave {supply.device_v:.1f} V"


def contact_logic(*, off: str, clear: str, blocked: str) -> Outcome:
    """Three readings, each 'open' or 'closed', -> the logic of the contact."""
    readings = f"off {off}, clear {clear}, blocked {blocked}"
    states = [_contact(x) for x in (off, clear, blocked)]
    logic = contacts.identify_logic(*states)
    if logic:
        return Outcome(_logic_word(logic), f"{readings}: {logic.coil.value}, {logic.pole.value}")
    word = f"stuck_{off}" if off == clear == blocked else "inconsistent"
    return Outcome(word, f"{readings}: no sound contact does that")


def _contact(word: str) -> contacts.Contact:
    if word not in get_args(contacts.Contact):
        raise CalculationError(f"a contact is open or closed, not {word!r}")
    return "open" if word == "open" else "closed"


def _logic_word(logic: contacts.Logic) -> str:
    coil = "eod" if logic.coil is contacts.Coil.ON_DETECT else "dod"
    return f"{coil}_{'no' if logic.pole is contacts.Pole.NO else 'nc'}"


def _logic(word: str) -> contacts.Logic:
    for logic in contacts.ALL_LOGICS:
        if _logic_word(logic) == word:
            return logic
    raise CalculationError(f"no contact logic {word!r}")


def signal_chain(*, lamp: str, contact: str, logic: str, input: str = "", sense: str = "") -> Outcome:
    """Lamp (clear/detecting), contact (open/closed), controller input (active/inactive): where they part."""
    if lamp not in ("clear", "detecting"):
        raise CalculationError(f"a lamp that shows {lamp!r} tells nothing about the contact")
    expected = contacts.expected_contact(_logic(logic), True, lamp == "detecting")
    if expected != _contact(contact):
        return Outcome("breaks_at_contact", f"lamp {lamp}: contact should be {expected}, is {contact}")
    if not input or not sense:
        return Outcome("agrees", f"lamp {lamp} and contact {contact} agree")
    believed = "active" if contact == sense.split("_")[0] else "inactive"
    if input != believed:
        return Outcome("breaks_at_input", f"contact {contact}: the input should be {believed}, is {input}")
    return Outcome("agrees", f"lamp {lamp}, contact {contact} and input {input} agree")


def scan_level(*, near: float, far: float, tolerance: float = 0.03) -> Outcome:
    """Heights in m of the scan straight out (near) and at right angles (far); level is common practice."""
    return _compared(
        "height difference", far - near, -tolerance, tolerance, ("tilted_down", "level", "tilted_up"), "m"
    )


def within(*, value: float, low: float = -inf, high: float = inf) -> Outcome:
    """A number against limits in its own unit."""
    return _compared("value", value, low, high, ("below", "inside", "above"), "")


def difference(*, a: float, b: float, tolerance: float) -> Outcome:
    """a - b against a tolerance, all in one unit."""
    return _compared("difference", a - b, -tolerance, tolerance, ("b_larger", "equal", "a_larger"), "")


def ratio(*, a: float, b: float, low: float, high: float) -> Outcome:
    """a / b against limits."""
    if b == 0:
        raise CalculationError("cannot divide by zero")
    return _compared("ratio", a / b, low, high, ("below", "inside", "above"), "")


def _compared(what: str, value: float, low: float, high: float, words: tuple[str, str, str], unit: str) -> Outcome:
    word = words[0] if value < low else words[2] if value > high else words[1]
    limits = f"{low:g} to {high:g}" if low != -inf and high != inf else f"at least {low:g}"
    limits = f"at most {high:g}" if low == -inf else limits
    return Outcome(word, f"{what} {value:.3g} {unit}; limits {limits} {unit}".replace(" ;", ";").rstrip())


def test_timing(
    *,
    pulse_ms: float,
    response_ms: float,
    release_ms: float | None = None,
    hold_ms: float = 0.0,
    window_ms: float | None = None,
) -> Outcome:
    """Monitored-test pulse against response + release; output hold against the window. All ms."""
    release = ASSUMED_RELEASE_MS if release_ms is None else release_ms
    times = PulseTimes(pulse_ms, window_ms if window_ms is not None else inf, response_ms, release, hold_ms)
    found = timing(times)
    says = f"pulse {pulse_ms:g} ms, needed {found.needed_pulse_ms:g} ms; back after {found.needed_return_ms:g} ms"
    says += f" (release not known, {release:g} ms assumed)" if release_ms is None else ""
    if found.pulse_spare_ms < 0:
        return Outcome("pulse_too_short", says)
    return Outcome("good" if found.works else "hold_too_long", says)


def insulation(*, mohm: float) -> Outcome:
    """Insulation to earth at 500 V DC, in Mohm."""
    word = loops.judge_insulation(mohm)
    return Outcome("good" if word == "acceptable" else word, f"{mohm:g} Mohm: {word}; at least 50 Mohm wanted")


def loop_resistance(
    *, measured: float, turns: float = 3, perimeter: float = 8.0, lead_in: float = 15.0, area: float = 2.08
) -> Outcome:
    """Series resistance in ohm against the copper of loop and lead-in. m, mm2."""
    expected = (perimeter * turns + 2 * lead_in) / 1000 * cable.resistance_per_km(area)
    says = f"{measured:.2f} ohm measured; the copper has {expected:.2f} ohm"
    if measured > OPEN_LOOP_OHM:
        return Outcome("open", says)
    if measured > expected + LOOP_EXCESS_OHM and measured > loops.LARGEST_SERIES_OHM / 2:
        return Outcome("high", says)
    return Outcome("shorted" if measured < 0.3 * expected else "good", says)


_EDGE_WORDS = {"two_terminators_in_parallel": "two_terminators", "leakage": "leaking", "added_resistance": "open"}


def edge_resistance(*, measured: float, terminator: float = 8200.0) -> Outcome:
    """Resistance of a terminated edge in ohm; 8.2 kohm is common practice, no source."""
    word = edges.classify_edge(measured, edges.EdgeWindow(terminator_ohm=terminator))
    return Outcome(_EDGE_WORDS.get(word, word), f"{measured:g} ohm against a {terminator:g} ohm terminator: {word}")


def sag(*, idle: float, loaded: float, minimum: float | None = None) -> Outcome:
    """Supply idle against supply with the drive starting, V."""
    drop = (idle - loaded) / idle if idle > 0 else 0.0
    low = minimum if minimum is not None else 0.8 * idle
    says = f"{idle:.1f} V idle, {loaded:.1f} V under load ({drop:.0%} down); at least {low:.1f} V needed"
    if loaded < low:
        return Outcome("drops_out", says)
    return Outcome("sags" if drop > 0.10 else "steady", says)


def sun_in_view(
    *, azimuth: float, latitude: float, longitude: float, month: float, hour: float, elevation: float = 0.0
) -> Outcome:
    """Whether the sun or its mirror image can stand near the look direction. Degrees; hour is solar time.

    The sun is tried every half hour around the hour and on the 6th, 15th and 25th of the month.
    """
    look = Direction(elevation, azimuth)
    angles = [_sun_angle(look, latitude, longitude, when) for when in _times(month, hour, longitude)]
    nearest = min((a for a in angles if a is not None), default=180.0)
    word = "near_sun" if nearest < SUN_NEARNESS_DEG else "clear_of_sun"
    return Outcome(word, f"the sun comes within {nearest:.0f} degrees of the look direction (near: under 15)")


def _times(month: float, hour: float, longitude: float) -> list[datetime]:
    if not (1 <= month <= 12 and 0 <= hour <= 24):
        raise CalculationError("month runs from 1 to 12 and hour from 0 to 24")
    days = [datetime(2025, int(month), day, tzinfo=UTC) for day in (6, 15, 25)]
    return [day + timedelta(hours=hour - longitude / 15 + step / 2) for day in days for step in (-2, -1, 0, 1, 2)]


def _sun_angle(look: Direction, latitude: float, longitude: float, when: datetime) -> float | None:
    seen = glare(look, sun_position(latitude, longitude, when))
    return min(seen.direct_deg, seen.mirror_deg) if seen.sun_is_up else None
