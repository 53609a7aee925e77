"""A visit with everything a record can hold, and a hostile one; on the shipped knowledge."""

from datetime import UTC
from functools import cache

from diagnose.model.visit import Setup
from diagnose.present.record import Record
from diagnose.present.record_parts import records
from diagnose.present.times import times_of
from diagnose.session.checklist import checklist
from diagnose.session.events import Begin, Close, Event, Proved, Repaired, Reply, TakeOver, Ticked
from diagnose.session.session import conclude, replay
from diagnose.store.profiles import profile_facts
from tests.shipped import knowledge, reasoner

SITE, WORDS = "Invented works, north gate", "it opens by itself as soon as it gets dark & wet"
HOSTILE = (
    "<script>alert(1)</script><img src=x onerror=alert(2)><b>bold</b> &amp; \x1b[31m\x00\u202egnp.exe\u202c "
    "{{ 7*7 }} "
    "\ud800 Z\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301 Ω ≥ ² ° Привет " + "W" * 10_000
)


def opening(site: str = SITE, words: str = WORDS) -> list[Event]:
    profile = profile_facts(["demo_device", "demo_site"])
    setup = Setup("technician", True, None, ("laser", "loop"), profile)
    return [Begin(setup, "ghost_opening", words, site, knowledge().digest)]


def found(by: str = "A. Tester", note: str = "") -> list[Event]:
    return [
        Reply("anyone_touched", "nearly", by=by, note=note),
        Reply("gate_made_safe", "made_safe", by=by),
        Reply("when_it_happens", "wet", sure=False, by=by),
        Reply("recent_change", "dont_know"),
        Reply("power_lamp", "flickers", by=by),
        Reply("lamp_clear", "comes_and_goes"),
        Reply("sup_volts_source", 24.1, by=by),
        Reply("sup_volts_sensor", 9.4, by=by),
        Reply("wir_insulation", 0.4, by=by),
        Reply("env_window_look", "clean"),
    ]


def mending(note: str = "", reading: str = "9.6 V at the sensor, still low") -> list[Event]:
    return [
        Repaired("long_thin_cable_drop", note),
        Proved(False, reading),
        TakeOver(opening()[0].setup, "B. Second"),  # type: ignore[union-attr]
        Reply("power_lamp", "steady", by="B. Second"),
        Reply("sup_volts_sensor", 22.9, by="B. Second"),
        Reply("wir_insulation", 0.3, by="B. Second"),
        Repaired("splice_with_water", note or "Box drained, gland replaced"),
        Proved(True, "insulation 180 MΩ, supply ≥ 22.9 V for ten minutes"),
    ]


def ticks(events: list[Event]) -> list[Event]:
    items = checklist(knowledge(), replay(knowledge(), events))
    return [Ticked(i.id, "pass", "test piece at 12 points" if i.protective else "") for i in items]


def whole(note: str = "", reading: str = "9.6 V at the sensor, still low") -> list[Event]:
    """Answers, a repair that fails, a second one that is proved, every item ticked, closed."""
    events = [*opening(), *found(note=note), *mending(note, reading)]
    return [*events, *ticks(events), Close("in_service", "")]


def hostile() -> list[Event]:
    events = [*opening(HOSTILE, HOSTILE), *found(HOSTILE, HOSTILE), *mending(HOSTILE, HOSTILE)]
    return [*events, *(Ticked("covers", "fail", HOSTILE),), Close("left_out", HOSTILE)]


def records_of(events: list[Event]) -> tuple[Record, Record]:
    session = replay(knowledge(), events)
    times = [f"2026-03-01T{8 + n // 60:02d}:{n % 60:02d}:00+00:00" for n in range(len(events))]
    return records(reasoner(), session, conclude(reasoner(), session), times_of(events, times, UTC))


@cache
def whole_records() -> tuple[Record, Record]:
    return records_of(whole())
