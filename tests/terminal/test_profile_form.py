"""A profile made by asking can be read back, whatever stayed unknown."""

import io
from pathlib import Path

from diagnose.model.profile import PROFILE_FACTS
from diagnose.store.profiles import load_profile
from diagnose.terminal.ask import Asker
from diagnose.terminal.profile_form import ask_profile
from diagnose.terminal.reader import ScriptReader
from diagnose.terminal.screen import Screen


def made(kind: str, lines: list[str], folder: Path) -> Path:
    screen = Screen(io.StringIO(), 60, plain=True)
    path = folder / "made.yaml"
    path.write_text(ask_profile(kind, screen, Asker(screen, ScriptReader({}, lines, screen.line))))
    return path


def test_nothing_known_is_a_usable_profile(tmp_path: Path) -> None:
    found = load_profile(str(made("device", [], tmp_path)))
    assert (found.kind, dict(found.facts)) == ("device", {})


def test_answers_in_any_usual_form_are_kept_and_nonsense_is_asked_again(tmp_path: Path) -> None:
    lines = ["My: device #1"]
    for name in PROFILE_FACTS:
        if name.startswith("device."):
            given = {
                "device.supply_kind": ["2"],
                "device.supply_min_v": ["a lot", "10,8 V"],
                "device.heater": ["none"],
            }
            lines += given.get(name, [""])
    found = load_profile(str(made("device", [*lines, "a small dot", "", ""], tmp_path)))
    assert found.says == "My: device #1"
    assert dict(found.facts) == {"device.supply_kind": "dc", "device.supply_min_v": 10.8, "device.heater": "none"}
    assert dict(found.lamps) == {"power": "a small dot"}


def test_a_site_is_asked_for_its_own_facts_only(tmp_path: Path) -> None:
    found = load_profile(str(made("site", ["yard", "sliding"], tmp_path)))
    assert dict(found.facts) == {"site.gate_type": "sliding"}
