"""The devices of a gate, named at the terminal: at the start, and with a command at any prompt."""

import io
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Named, Reply
from diagnose.session.gear_words import read_gear
from diagnose.session.session import replay
from diagnose.session.state import Session
from diagnose.store.journal import Journal
from diagnose.store.visits import gear_at
from diagnose.terminal.ask import Asker
from diagnose.terminal.begin import ask_begin
from diagnose.terminal.gear import named_in
from diagnose.terminal.screen import Screen
from tests.shipped import knowledge, quick

LINE = "laser over the entry opens, exit loop closes"


class Typed:
    """A reader that types these lines."""

    def __init__(self, *lines: str) -> None:
        self._lines = iter(lines)

    def read(self, *_: object) -> str:
        return next(self._lines)


def asker(*lines: str) -> tuple[Asker, io.StringIO]:
    out = io.StringIO()
    return Asker(Screen(out, 80, plain=True), Typed(*lines)), out


def test_devices_are_named_where_the_kinds_are_asked_for_and_said_back() -> None:
    ask, out = asker("laser on the moon", "1")
    begin = ask_begin(knowledge(), Begin(Setup(), ""), ("role",), ask)
    assert [d.key for d in begin.setup.gear] == ["laser_on_the_moon"]
    assert "scanning laser sensor; job not known" in " ".join(out.getvalue().split())


def test_a_line_that_is_not_understood_is_asked_again_with_the_words_in_question() -> None:
    ask, out = asker("kettle opens", LINE, "1")
    begin = ask_begin(knowledge(), Begin(Setup(), ""), ("role",), ask)
    assert "kettle" in out.getvalue()
    assert [d.jobs for d in begin.setup.gear] == [("opens",), ("closes",)]
    assert begin.setup.devices == ("laser", "loop")


def test_kinds_by_number_still_name_nothing() -> None:
    ask, _ = asker("2 3", "1")
    setup = ask_begin(knowledge(), Begin(Setup(), ""), ("role",), ask).setup
    assert (setup.devices, setup.gear) == (("laser", "loop"), ())


def test_the_command_adds_one_and_asks_which_was_meant() -> None:
    session = replay(knowledge(), [Begin(Setup(), "stuck_open"), Reply("lamp_clear", "clear")])
    ask, _ = asker("2")
    event = named_in(LINE, quick(), session, ask)
    assert isinstance(event, Named) and event.became == {"": "exit_loop"}
    after = replay_with(event)
    more = named_in("+ low eye (photo_eye) protects", quick().at(after.setup.gear), after, asker()[0])
    assert more and [d.key for d in more.gear] == ["laser_over_the_entry", "exit_loop", "low_eye"]


def test_the_command_asks_what_a_device_is_called_now_that_was_answered_about() -> None:
    gear = read_gear(knowledge(), LINE)
    session = replay(knowledge(), [Begin(Setup(gear=gear), "stuck_open"), Reply("lamp_clear@exit_loop", "detecting")])
    line = "laser over the entry opens, loop by the moat closes"
    ask, out = asker("1")
    event = named_in(line, quick().at(gear), session, ask)
    assert event and event.became == {"exit_loop": "loop_by_the_moat"}
    assert "Which of these was exit loop" in out.getvalue()
    ask, out = asker()
    dropped = named_in("laser over the entry opens", quick().at(gear), session, ask)
    assert dropped and not dropped.became
    assert "exit loop are put aside" in out.getvalue()


def test_sensors_given_as_an_option_are_not_replaced_by_those_of_the_last_visit() -> None:
    ask, _ = asker("1")
    draft = Begin(Setup(devices=("loop",)), "")
    setup = ask_begin(knowledge(), draft, ("role", "devices"), ask, read_gear(knowledge(), LINE)).setup
    assert (setup.devices, setup.gear) == (("loop",), ())


def replay_with(event: Event) -> Session:
    return replay(knowledge(), [Begin(Setup(), "stuck_open"), Reply("lamp_clear", "clear"), event])


def test_enter_leaves_the_devices_as_they_are() -> None:
    session = replay(knowledge(), [Begin(Setup(), "stuck_open")])
    ask, out = asker("")
    assert named_in("", quick(), session, ask) is None
    assert "not known" in out.getvalue()


def test_the_last_visit_to_a_site_offers_its_devices(tmp_path: Path) -> None:
    gear = read_gear(knowledge(), LINE)
    for at, events in enumerate(([Begin(Setup(gear=gear), "stuck_open", site="North gate")],
                                 [Begin(Setup(), "stuck_open", site="north  GATE")])):  # fmt: skip
        with Journal.create(tmp_path, datetime(2026, 1, 1 + at)) as journal:
            for event in events:
                journal.append(event)
    assert gear_at(knowledge(), tmp_path, "North gate") == gear
    assert gear_at(knowledge(), tmp_path, "South gate") == ()
    former = replace(knowledge(), kinds={k: v for k, v in knowledge().kinds.items() if k != "loop"})
    assert gear_at(former, tmp_path, "North gate") == ()
    ask, _ = asker("", "1")
    begin = ask_begin(knowledge(), Begin(Setup(), ""), ("role",), ask, gear)
    assert begin.setup.gear == gear and begin.setup.devices == ("laser", "loop")
