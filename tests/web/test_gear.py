"""The devices of a gate on the pages: named at the start, named anew beside the answers."""

from dataclasses import replace
from html import unescape
from pathlib import Path

from diagnose.session.events import Begin, Named
from tests.web.tab import Form, Tab, events_in, session_in, tab

LINE = "laser over the entry opens, exit loop closes"
KEYS = ["laser_over_the_entry", "exit_loop"]


def keys(folder: Path, shown: Tab) -> list[str]:
    return [d.key for d in session_in(folder, shown.address).setup.gear]


def test_devices_named_at_the_start_are_on_disk_and_asked_about_by_name(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(gear=LINE)
    begin = events_in(tmp_path, shown.address)[0]
    assert isinstance(begin, Begin) and [d.key for d in begin.setup.gear] == KEYS
    form = next(f for f in shown.open(f"{shown.address}/answers").forms() if f.fields.get("do") == "named")
    assert form.fields["gear"] == LINE


def test_a_device_without_a_kind_is_asked_about_and_nothing_begins(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(gear="kettle at the gate opens")
    assert shown.status == 422
    assert "kettle at the gate opens" in unescape(shown.text)
    assert not list(tmp_path.glob("*.visit"))


def test_devices_are_corrected_beside_the_answers(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    visit = shown.address
    form = next(f for f in shown.open(f"{visit}/answers").forms() if f.fields.get("do") == "named")
    shown.send(form, gear=LINE)
    assert isinstance(events_in(tmp_path, visit)[-1], Named)
    shown.open(visit)
    assert keys(tmp_path, shown) == KEYS


def gear_form(shown: Tab, visit: str) -> Form:
    return next(f for f in shown.open(f"{visit}/answers").forms() if f.fields.get("do") == "named")


def test_what_a_device_is_called_now_is_asked_where_it_was_answered_about(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(gear=LINE)
    visit = shown.address
    reply = {**gear_form(shown, visit).fields, "do": "reply", "check": "lamp_clear@exit_loop", "answer": "detecting"}
    shown.send(replace(gear_form(shown, visit), fields=reply))
    line = "laser over the entry opens, loop by the moat closes"
    shown.send(gear_form(shown, visit), gear=line)
    assert shown.status == 422
    again = next(f for f in shown.forms() if f.fields.get("do") == "named")
    assert again.fields["gear"] == line and 'name="became_exit_loop"' in shown.text
    assert not any(isinstance(e, Named) for e in events_in(tmp_path, visit))
    shown.send(again, became_exit_loop="loop_by_the_moat")
    shown.open(visit)
    assert [a.check for a in session_in(tmp_path, visit).given] == ["lamp_clear@loop_by_the_moat"]


def test_devices_that_are_not_understood_stay_in_their_field(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(gear_form(shown, shown.address), gear="kettle opens")
    assert shown.status == 422
    assert next(f for f in shown.forms() if f.fields.get("do") == "named").fields["gear"] == "kettle opens"


def start_form(shown: Tab) -> Form:
    return next(f for f in shown.forms() if f.action == "/start")


def test_the_devices_of_a_site_are_filled_in_on_the_next_visit_to_it(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(gear=LINE, site="North gate")
    shown = tab(tmp_path).begin(site="north  GATE")
    assert start_form(shown).fields["gear"] == LINE
    assert len(list(tmp_path.glob("*.visit"))) == 1
    again = start_form(shown)
    shown.send(again, do="begin", complaint="ghost_opening", role="technician")
    assert keys(tmp_path, shown) == KEYS


def test_devices_that_were_filled_in_can_be_left_out(tmp_path: Path) -> None:
    tab(tmp_path).begin(gear=LINE, site="North gate")
    shown = tab(tmp_path).begin(site="North gate")
    shown.send(start_form(shown), do="begin", complaint="ghost_opening", role="technician", gear="")
    assert keys(tmp_path, shown) == []
    elsewhere = tab(tmp_path).begin(site="South gate")
    assert keys(tmp_path, elsewhere) == []
