"""Output contacts and the monitored test."""

from math import inf
from typing import Annotated, get_args

from diagnose.calc import contacts, monitored_test, read
from diagnose.calc.calculator import AskedInput, Finished, Rows, Solution, calculator
from diagnose.calc.contacts import ALL_LOGICS, Contact, LineFault, Logic, Seen, expected_contact
from diagnose.calc.draw import Lines, table, timeline
from diagnose.calc.monitored_test import PulseTimes, Timing
from diagnose.calc.read import Quantity
from diagnose.calc.units import format_reading
from diagnose.errors import CalculationError
from diagnose.words import say

Reading = Contact | None
Readings = tuple[Reading, Reading, Reading]


STATE = "open or closed"
ASSUMED_RELEASE_MS = 20.0  # of an ordinary small relay; judgement
LOW_MS = Quantity("ms", 0, 600_000)
Milliseconds = Annotated[float, "ms"]


@calculator(
    "contacts",
    "What the output contact shows, and which logic it has",
    example="contacts off=open clear=closed blocked=open",
    formula=(
        "The coil is on when the sensor has power and sees what switches it on; NO closes, NC opens with the coil."
    ),
    source="Truth table from the IEC and NEMA convention: NO and NC are named with the coil un-powered",
    limits=(
        "For relay contacts. A transistor output never reads 0 or endless ohms: measure volts under load instead. "
        "Some makers name NO and NC 'powered and clear'; the three readings decide."
    ),
    caution=(
        "Measure ohms with the output's wires off the controller. In volts across the contact: near 0 is closed, the "
        "whole supply is open. Hold the gate and keep people out before blocking the zone."
    ),
)
def contact_readings(
    *,
    off: Annotated[
        Reading, AskedInput(f"Contact with the sensor's supply off, {STATE}", "open", read.contact)
    ] = None,
    clear: Annotated[Reading, AskedInput(f"Contact powered, zone clear, {STATE}", "closed", read.contact)] = None,
    blocked: Annotated[Reading, AskedInput(f"Contact powered, zone blocked, {STATE}", "open", read.contact)] = None,
) -> Solution:
    """Which logic the readings fit; an unknown reading fits every logic."""
    readings = (off, clear, blocked)
    fitting = [logic for logic in ALL_LOGICS if _fits(logic, readings)]
    if len(fitting) == 1:
        meaning = _logic_meaning(fitting[0]) + ("" if all(readings) else " Take the missing reading to be sure.")
        return Solution(_logic_rows(fitting[0]), meaning, _truth_table(fitting, readings))
    fits = ", ".join(map(_label, fitting)) or "none of the four"
    return Solution((("fits", fits),), _open_meaning(fitting, readings), _truth_table(fitting, readings))


def _fits(logic: Logic, readings: Readings) -> bool:
    return all(seen in (None, state) for seen, state in zip(readings, contacts.readings_of(logic), strict=True))


def _label(logic: Logic) -> str:
    return f"{logic.pole.name}, on at {'detect' if logic.coil is contacts.Coil.ON_DETECT else 'clear'}"


def _logic_rows(logic: Logic) -> Rows:
    faults: tuple[LineFault, ...] = get_args(LineFault)
    seen_as = [(f"{fault} looks like", contacts.looks_like(logic, fault)) for fault in faults]
    return (
        ("contact", f"{logic.pole.value} ({logic.pole.name})"),
        ("relay coil", logic.coil.value),
        ("controller input must be", contacts.matching_input(logic).value),
        *seen_as,
    )


def _logic_meaning(logic: Logic) -> str:
    safe = contacts.fails_towards_detect(logic)
    missed = [fault for fault in get_args(LineFault) if fault not in safe]
    return (
        f"The readings fit a sound contact of this logic. Seen as a detection: {', '.join(safe)}; "
        f"not noticed without a monitored test: {', '.join(missed)}."
    )


def _open_meaning(fitting: list[Logic], readings: Readings) -> str:
    if fitting:
        return "More than one logic fits: take the missing readings (sensor off, zone clear, zone blocked)."
    if len(set(readings)) == 1:
        return (
            f"The contact is {readings[0]} whatever the sensor does: stuck, bypassed, or the wrong pair of terminals."
        )
    return "No sound contact does that: check the terminals, the meter's contact, and that the zone was as you say."


def _truth_table(fitting: list[Logic], readings: Readings) -> Lines:
    rows: list[tuple[str, ...]] = [("  contact, coil", "off", "clear", "blocked")]
    for logic in ALL_LOGICS:
        mark = "> " if logic in fitting and len(fitting) < len(ALL_LOGICS) else "  "
        rows.append((mark + _label(logic), *contacts.readings_of(logic)))
    rows.append(("  measured", *(reading or "?" for reading in readings)))
    return table(rows, (18, 7, 7, 8))


@calculator(
    "monitored_test",
    "Monitored test: pulse, answer, return",
    example="monitored_test pulse=200ms response=80ms release=20ms hold=100ms window=500ms",
    formula=(
        "Pulse needed = response + relay. Return = start-up + response + hold + relay, counted from the pulse's end; "
        "it must fit in the window."
    ),
    source=(
        "Logic after UL 325 style monitoring as restated in 16 CFR 1211.8(b); relay 10-20 ms common practice, no "
        "source"
    ),
    limits="Typical times, not the slowest of a cold or dirty device; the controller's manual says how it counts.",
    caution="Never bridge a monitored input to get a gate going: until the test passes only hold-to-run is safe.",
)
def monitored(
    *,
    pulse: Annotated[float, AskedInput("How long the controller asserts the test", "200ms", LOW_MS)],
    response: Annotated[float, AskedInput("Response time of the sensor", "80ms", LOW_MS)],
    release: Annotated[float, AskedInput("Time of the output relay", "20ms", LOW_MS)] = ASSUMED_RELEASE_MS,
    hold: Annotated[float, AskedInput("Hold (off-delay) time of the output", "100ms", LOW_MS)] = 0.0,
    boot: Annotated[float, AskedInput("Start-up time if the test cuts the supply", "2s", LOW_MS)] = 0.0,
    window: Annotated[float | None, AskedInput("Time the controller allows for the return", "500ms", LOW_MS)] = None,
    during: Annotated[
        Seen | None, AskedInput("Output seen during the test, detect or clear", "detect", read.seen)
    ] = None,
    after: Annotated[
        Seen | None, AskedInput("Output seen after the test, detect or clear", "clear", read.seen)
    ] = None,
) -> Solution:
    """The monitored test; all times in ms, `during` and `after` what the output showed."""
    times = PulseTimes(pulse, window if window is not None else inf, response, release, hold, boot)
    found = monitored_test.timing(times)
    rows = _timing_rows(found, window is not None)
    meaning = _timing_meaning(found, times)
    if during and after:
        said = monitored_test.verdict(during, after)
        allowed = "allowed" if said.cycle_allowed else "not allowed"
        meaning = f"{said.says[0].upper()}{said.says[1:]}. {meaning}"
        rows += (("this test", said.outcome), ("cycle", allowed))
    return Solution(rows, meaning, _pulse_drawing(times, found))


def _timing_rows(found: Timing, has_window: bool) -> Rows:
    rows: Rows = (
        ("pulse needed", f"{_ms(found.needed_pulse_ms)} or more"),
        ("pulse to spare", _ms(found.pulse_spare_ms)),
        ("back to clear after", f"{_ms(found.needed_return_ms)} from the end of the pulse"),
    )
    return rows + ((("window to spare", _ms(found.return_spare_ms)),) if has_window else ())


def _ms(ms: float) -> str:
    return format_reading(ms, "ms")


def _timing_meaning(found: Timing, times: PulseTimes) -> str:
    if found.pulse_spare_ms < 0:
        return "The pulse ends before the output can answer: the controller reports a sensor fault that is not there."
    if found.return_spare_ms < 0:
        worst = "the sensor boots anew at each test" if times.boot_ms else "the output's hold time is too long"
        return (
            f"The output is back too late ({worst}): the controller refuses the cycle though nothing is in the way."
        )
    return "The timing works: a test that still fails has a real cause (stuck output, test wire, polarity)."


def _pulse_drawing(times: PulseTimes, found: Timing) -> Lines:
    answers, back = found.needed_pulse_ms, times.pulse_ms + found.needed_return_ms
    window_end = times.pulse_ms + times.window_ms if times.window_ms != inf else back
    end = max(back, window_end, answers) * 1.05 or 1000.0
    answered = found.pulse_spare_ms >= 0
    rows = [("test", 0.0, times.pulse_ms), ("detects", answers, back if answered else answers)]
    if times.window_ms != inf:
        rows.append(("window", times.pulse_ms, window_end))
    return (*timeline(rows, end), f"{'':10}0{_ms(end):>28}")


@calculator(
    "contact_logic",
    "Which contact logic three readings (sensor off, clear, blocked) belong to",
    words=dict.fromkeys(("eod_no", "eod_nc", "dod_no", "dod_nc", "stuck_open", "stuck_closed", "inconsistent"), ""),
)
def contact_logic(*, off: str, clear: str, blocked: str) -> Finished:
    """Three readings, each 'open' or 'closed', -> the logic of the contact."""
    readings = {"off": _contact(off), "clear": _contact(clear), "blocked": _contact(blocked)}
    logic = contacts.identify_logic(*readings.values())
    stuck = f"stuck_{off}" if off == clear == blocked else "inconsistent"
    word = _logic_word(logic) if logic else stuck
    found = say(f"calc.logic_{word}") if logic else say("calc.no_logic")
    return Finished(
        word, say("calc.contact", **{when: _contact_says(c) for when, c in readings.items()}, found=found)
    )


def _contact_says(contact: Contact) -> str:
    return say(f"calc.contact_{contact}")


def _contact(word: str) -> Contact:
    if word not in get_args(Contact):
        raise CalculationError(f"a contact is open or closed, not {word!r}")
    return "open" if word == "open" else "closed"


def _logic_word(logic: Logic) -> str:
    coil = "eod" if logic.coil is contacts.Coil.ON_DETECT else "dod"
    return f"{coil}_{'no' if logic.pole is contacts.Pole.NO else 'nc'}"


def _logic(word: str) -> Logic:
    for logic in ALL_LOGICS:
        if _logic_word(logic) == word:
            return logic
    raise CalculationError(f"no contact logic {word!r}")


@calculator(
    "signal_chain",
    "Where lamp, contact and controller input stop agreeing",
    words=dict.fromkeys(("agrees", "breaks_at_contact", "breaks_at_input"), ""),
)
def signal_chain(*, lamp: str, contact: str, logic: str, input: str = "", sense: str = "") -> Finished:
    """Lamp (clear/detecting), contact (open/closed), controller input (active/inactive): where they part."""
    if lamp not in ("clear", "detecting"):
        raise CalculationError(f"a lamp that shows {lamp!r} tells nothing about the contact")
    expected = expected_contact(_logic(logic), True, lamp == "detecting")
    shown = {"lamp": say(f"calc.lamp_{lamp}"), "contact": _contact_says(_contact(contact))}
    if expected != contact:
        return Finished("breaks_at_contact", say("calc.contact_wrong", **shown, expected=_contact_says(expected)))
    if not input or not sense:
        return Finished("agrees", say("calc.contact_agrees", **shown))
    if input not in ("active", "inactive"):
        raise CalculationError(f"an input is active or inactive, not {input!r}")
    believed = "active" if contact == sense.split("_")[0] else "inactive"
    shown["input"] = say(f"calc.input_{input}")
    if input != believed:
        return Finished("breaks_at_input", say("calc.input_wrong", **shown, expected=say(f"calc.input_{believed}")))
    return Finished("agrees", say("calc.input_agrees", **shown))


@calculator(
    "test_timing",
    "Monitored-test pulse against response and release; output hold against the test window",
    words={
        "good": "long enough",
        "pulse_too_short": "pulse shorter than the sensor needs",
        "hold_too_long": "shorter than response, release and hold together",
    },
)
def test_timing(
    *,
    pulse_ms: Milliseconds,
    response_ms: Milliseconds,
    release_ms: Milliseconds | None = None,
    hold_ms: Milliseconds = 0.0,
    window_ms: Milliseconds | None = None,
) -> Finished:
    """Monitored-test pulse against response + release; output hold against the window."""
    release = ASSUMED_RELEASE_MS if release_ms is None else release_ms
    window = window_ms if window_ms is not None else inf
    found = monitored_test.timing(PulseTimes(pulse_ms, window, response_ms, release, hold_ms))
    named = {"pulse": pulse_ms, "needed": found.needed_pulse_ms, "back": found.needed_return_ms, "release": release}
    key = "calc.timing_assumed" if release_ms is None else "calc.timing"
    says = say(key, **{name: f"{ms:g}" for name, ms in named.items()})
    if found.pulse_spare_ms < 0:
        return Finished("pulse_too_short", says)
    return Finished("good" if found.works else "hold_too_long", says)
