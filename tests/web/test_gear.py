"""The devices of a gate on the pages: named at the start, named anew beside the answers."""

from html import unescape
from pathlib import Path

from diagnose.session.events import Begin, Named
from tests.web.tab import Tab, events_in, session_in, tab

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
