"""The devices of a visit: named in a line of words, named anew, and what was answered keeps its device."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.core.ground import ground
from diagnose.errors import AnswerError, SessionError
from diagnose.model.gear import JOBS, Device, Gear, slug
from diagnose.model.visit import Setup
from diagnose.present.question import lamps_of
from diagnose.session.events import AnotherFault, Back, Begin, Event, Named, Proved, Repaired, Reply, TakeOver
from diagnose.session.gear_words import gear_says, read_gear
from diagnose.session.regear import left_over, with_papers
from diagnose.session.session import conclude, replay, salvage, step
from diagnose.session.state import Ended, Session
from diagnose.session.visit_record import visit_record
from tests.shipped import knowledge, quick

KB = knowledge()
LASER = Device("laser over the entry", "laser", ("opens", "protects"))
LOOP = Device("exit loop", "loop", ("opens",))
EYE = Device("low eye", "photo_eye", ("protects",))
BOTH = (LASER, LOOP)
AT_LASER, AT_LOOP = f"lamp_clear@{LASER.key}", f"lamp_clear@{LOOP.key}"
LOOP_OPENS = Reply("input_clear", f"sensor_activation@{LOOP.key}")
TOLD = (Reply(AT_LASER, "clear"), Reply(AT_LOOP, "detecting"), LOOP_OPENS)


def visit(*events: Event, gear: Gear = BOTH) -> Session:
    return replay(KB, [Begin(Setup(gear=gear), "stuck_open"), Reply("anyone_touched", "nobody"), *events])


def answered(session: Session) -> dict[str, object]:
    return {a.check: a.value for a in session.given if a.check != "anyone_touched"}


LINES: dict[str, Gear] = {
    "laser over the entry opens and protects, exit loop opens": BOTH,
    "exit loop opens; low eye (photo_eye) protects": (LOOP, EYE),
    "Scanner at the gate opening": (Device("Scanner at the gate", "laser", ("opens",)),),
    "laser over the loop": (Device("laser over the loop", "laser"),),
    "closing loop opens": (Device("closing loop", "loop", ("opens",)),),
    "edges on the leaf protect": (Device("edges on the leaf", "edge", ("protects",)),),
    "photo eye, photo eye": (Device("photo eye", "photo_eye"), Device("photo eye 2", "photo_eye")),
    "photo eye, photo eye, photo eye 2": (
        Device("photo eye", "photo_eye"),
        Device("photo eye 2", "photo_eye"),
        Device("photo eye 2 2", "photo_eye"),
    ),
    "laser over entry opens, loop closes. And a loop": (
        Device("laser over entry", "laser", ("opens",)),
        Device("loop", "loop", ("closes",)),
        Device("loop 2", "loop"),
    ),
    "the exit loop opens, then also with, plus a low eye (photo_eye) protects.": (LOOP, EYE),
    "laser 2.5 m up": (Device("laser 2.5 m up", "laser"),),
    "": (),
}


@pytest.mark.parametrize("line", LINES)
def test_a_line_names_the_devices(line: str) -> None:
    assert read_gear(KB, line) == LINES[line]


@pytest.mark.parametrize("line", LINES)
def test_what_is_said_of_devices_reads_back_as_the_same(line: str) -> None:
    assert read_gear(KB, gear_says(KB, LINES[line])) == LINES[line]


def test_a_device_without_a_kind_is_asked_about_by_its_words() -> None:
    with pytest.raises(AnswerError, match="thing at the gate"):
        read_gear(KB, "laser opens, thing at the gate protects")


@given(st.text(max_size=60))
def test_any_line_gives_devices_with_keys_of_their_own_or_is_asked_about(line: str) -> None:
    try:
        gear = read_gear(KB, line)
    except AnswerError:
        return
    assert all(d.kind in KB.kinds and set(d.jobs) <= set(JOBS) for d in gear)
    assert len({d.key for d in gear}) == len(gear)


def test_named_devices_are_all_the_sensors_there_are() -> None:
    assert visit().setup.devices == ("laser", "loop")


def test_answers_keep_their_numbers_when_the_devices_are_named() -> None:
    again = Reply("lamp_clear", "clear")
    session = replay(KB, [Begin(Setup(), "stuck_open"), again, Reply("recent_change", "knock"), again])
    named = step(KB, session, Named(BOTH, {"": LOOP.key}))
    assert (named.number(AT_LOOP), named.number("recent_change")) == (1, 2)


def test_an_answer_belongs_to_the_device_that_was_asked_about() -> None:
    session = visit(Reply(AT_LOOP, "detecting"))
    leader = conclude(quick(), session).belief.ranked()[0][0]
    assert leader.endswith(f"@{LOOP.key}")
    with pytest.raises(SessionError, match="lamp_clear"):
        step(KB, session, Reply("lamp_clear", "detecting"))


def test_answers_of_a_device_that_keeps_its_key_stay() -> None:
    told = (Reply(AT_LASER, "clear"), Reply(AT_LOOP, "detecting"))
    renamed = replace(LOOP, jobs=("closes",))
    assert answered(visit(*told, Named((renamed, EYE)))) == {AT_LOOP: "detecting"}
    assert answered(visit(*told, Named((*BOTH, EYE)))) == {AT_LASER: "clear", AT_LOOP: "detecting"}


def test_answers_about_the_sensor_go_to_the_one_that_was_meant() -> None:
    told = (
        Reply("lamp_clear", "detecting"),
        Reply("input_clear", "sensor_activation"),
        Reply("fault_list", "nothing"),
    )
    meant = answered(visit(*told, Named(BOTH, {"": LOOP.key}), gear=()))
    assert meant == {AT_LOOP: "detecting", "input_clear": f"sensor_activation@{LOOP.key}", "fault_list": "nothing"}
    assert AT_LASER in answered(visit(*told, Named(BOTH), gear=(LASER,)))


def aside(session: Session) -> dict[str, object]:
    return {a.check: a.value for a in session.aside}


def test_answers_about_nobody_knows_which_sensor_are_put_aside_until_somebody_does() -> None:
    told = (Reply("lamp_clear", "detecting"), Reply("fault_list", "nothing"), Named(BOTH))
    session = visit(*told, gear=())
    assert answered(session) == {"fault_list": "nothing"}
    assert aside(session) == {"lamp_clear": "detecting"}
    later = step(KB, session, Named(BOTH, {"": LOOP.key}))
    assert answered(later) == {AT_LOOP: "detecting", "fault_list": "nothing"}
    assert not later.aside


def test_a_device_that_is_called_otherwise_keeps_its_answers() -> None:
    moat = replace(LOOP, name="loop by the moat")
    session = visit(*TOLD, Named((LASER, moat), {LOOP.key: moat.key}))
    assert answered(session) == {
        AT_LASER: "clear",
        f"lamp_clear@{moat.key}": "detecting",
        "input_clear": f"sensor_activation@{moat.key}",
    }
    assert not session.aside


def test_what_was_answered_about_a_device_that_is_left_out_comes_back_with_it() -> None:
    without = visit(*TOLD, Named((LASER, EYE)))
    assert answered(without) == {AT_LASER: "clear"}
    assert aside(without) == {AT_LOOP: "detecting", "input_clear": f"sensor_activation@{LOOP.key}"}
    assert answered(step(KB, without, Named((*BOTH, EYE)))) == answered(visit(*TOLD))
    newer = step(KB, without, Reply("input_clear", "none"))
    assert answered(step(KB, newer, Named((*BOTH, EYE))))["input_clear"] == "none"


def test_the_only_device_gives_its_answers_to_no_other() -> None:
    told = (Reply("lamp_clear", "detecting"), Named((LOOP,)))
    session = visit(*told, gear=(LASER,))
    assert answered(session) == {}
    assert aside(session) == {AT_LASER: "detecting"}
    assert answered(step(KB, session, Named(BOTH))) == {AT_LASER: "detecting"}


@pytest.mark.parametrize("became", [{LOOP.key: LASER.key}, {LOOP.key: "no_such"}, {"no_such": EYE.key}])
def test_answers_go_to_one_device_that_is_named(became: dict[str, str]) -> None:
    with pytest.raises(SessionError, match="one device"):
        visit(Reply(AT_LOOP, "clear"), Named((LASER, EYE), became))


def test_front_ends_are_told_of_which_devices_answers_are_left_over() -> None:
    session = visit(Reply(AT_LASER, "clear"), LOOP_OPENS)
    assert left_over(KB, session, Named((LASER, EYE))) == (LOOP.key,)
    assert left_over(KB, session, Named((LASER, EYE), {LOOP.key: EYE.key})) == ()
    assert left_over(KB, visit(Reply("lamp_clear", "clear"), gear=()), Named(BOTH)) == ("",)
    assert left_over(KB, visit(gear=()), Named(BOTH)) == ()


@pytest.mark.parametrize("name", ["x" * 61, "laser\nover", "!!", "laser \u202e over"])
def test_a_name_stands_before_every_text_so_it_is_short_and_in_one_line(name: str) -> None:
    with pytest.raises(SessionError, match="name of its own"):
        visit(Named((replace(LASER, name=name), LOOP)))
    with pytest.raises(SessionError, match="name of its own"):
        visit(gear=(replace(LASER, name=name), LOOP))


def test_more_devices_than_can_be_reasoned_about_are_refused() -> None:
    with pytest.raises(AnswerError, match="at most 8"):
        read_gear(KB, "loop, " * 9)
    many = tuple(replace(LOOP, name=f"loop {n}") for n in range(9))
    with pytest.raises(SessionError, match="at most 8"):
        visit(gear=many)


def test_of_two_devices_one_is_left_and_is_the_sensor() -> None:
    told = (Reply(AT_LASER, "clear"), Reply(AT_LOOP, "detecting"))
    assert answered(visit(*told, Named((LOOP,)))) == {"lamp_clear": "detecting"}


def test_back_takes_an_answer_back_and_leaves_the_devices() -> None:
    session = visit(Reply("lamp_clear", "detecting"), Named(BOTH, {"": LOOP.key}), Back(), gear=())
    assert session.setup.gear == BOTH
    assert answered(session) == {}


def test_a_repaired_device_keeps_its_place_and_its_cause() -> None:
    mended = Repaired(f"window_dirty@{LASER.key}")
    with pytest.raises(SessionError, match="repaired"):
        visit(mended, Proved(True), Named((LOOP, EYE)))
    done = visit(mended, Proved(True), AnotherFault(), Named((*BOTH, EYE)))
    assert done.repairs[0].cause == done.attempts[0].cause == mended.cause
    assert conclude(quick(), done).belief.ranked()


def test_history_counts_the_cause_whichever_device_it_was_at() -> None:
    done = replace(visit(Repaired(f"window_dirty@{LASER.key}"), Proved(True)), end=Ended("left_out"))
    kept = visit_record("x", done, ["2026-01-01T00:00:00+00:00"]).outcome
    assert kept and kept.causes == ("window_dirty",)


def test_two_devices_of_one_name_are_refused() -> None:
    with pytest.raises(SessionError, match="name of its own"):
        visit(Named((LASER, replace(LOOP, name="Laser, over the entry"))))
    with pytest.raises(SessionError, match="sensor kind"):
        visit(Named((LASER, replace(LOOP, kind="sonar"))))


def test_who_takes_over_finds_the_devices_as_they_are_named() -> None:
    assert visit(TakeOver(Setup(electrician=True))).setup.gear == BOTH


def test_a_file_with_devices_is_read_again_as_it_was() -> None:
    events = (
        Begin(Setup(), "stuck_open"),
        Reply("lamp_clear", "clear"),
        Named(BOTH, {"": LOOP.key}),
        Reply(AT_LASER, "clear"),
    )
    session, told = salvage(KB, events)
    assert not told
    assert session == replay(KB, events)


def test_papers_go_to_the_devices_of_their_kind() -> None:
    facts: dict[str, str | float] = {"device.load_w": 3.0, "lamp.power": "green"}
    setup = with_papers(Setup(gear=BOTH, profile={"site.supply_v": 24.0}), "laser", facts)
    assert setup.gear[0].facts == facts
    assert not setup.gear[1].facts
    assert dict(setup.profile) == {"site.supply_v": 24.0}
    assert dict(with_papers(Setup(), "laser", facts).profile) == facts
    session, kb = visit(gear=setup.gear), ground(KB, setup.gear)
    assert lamps_of(session, kb.checks[AT_LASER]) and not lamps_of(session, kb.checks[AT_LOOP])
    alone = replace(session, setup=replace(setup, gear=setup.gear[:1]))
    assert lamps_of(alone, KB.checks["lamp_clear"]) == lamps_of(session, kb.checks[AT_LASER])


@given(st.text(max_size=20))
def test_a_key_holds_no_at_sign(name: str) -> None:
    assert "@" not in slug(name)
