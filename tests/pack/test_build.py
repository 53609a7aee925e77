"""What the page carries, and the command that writes it."""

import argparse
import base64
import hashlib
import json
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from diagnose.cli.offline import run as pack
from diagnose.errors import VisitError
from diagnose.pack.build import KINDS, UNUSED, WORD_TABLES, payload
from diagnose.pack.page import MODULES, as_data, page, script_text
from tests.shipped import knowledge

HELD = """(section) => {
  const plain = (value) => {
    if (value instanceof Map) return Object.fromEntries([...value].map(([k, v]) => [k, plain(v)]));
    if (Array.isArray(value)) return value.map(plain);
    if (value && typeof value === "object") {
      const own = Object.entries(value).filter(([k]) => k !== "finding"); // a check's, made anew from the findings
      return Object.fromEntries(own.map(([k, v]) => [k, plain(v)]));
    }
    return value;
  };
  return [plain(gateDiagnose.kb[section]), [...gateDiagnose.kb[section].keys()]];
}"""


def plain(value: Any) -> Any:
    """A record as JSON values, without what the page leaves out."""
    if is_dataclass(value) and not isinstance(value, type):
        unused = UNUSED.get(type(value), ())
        return {f.name: plain(getattr(value, f.name)) for f in fields(value) if f.name not in unused}
    if isinstance(value, Mapping):
        return {k: plain(v) for k, v in value.items()}
    return [plain(v) for v in value] if isinstance(value, tuple) else value


@pytest.mark.parametrize("section", [*KINDS, *WORD_TABLES])
def test_the_page_reads_back_every_record_whole(tab: Page, section: str) -> None:
    held, order = tab.evaluate(HELD, section)
    table = getattr(knowledge(), section)
    assert order == list(table)
    for name, record in table.items():
        assert held[name] == plain(record), name


def test_settings_and_scales_arrive_too(tab: Page) -> None:
    held = tab.evaluate("JSON.stringify(gateDiagnose.kb.settings)")
    assert json.loads(held) == plain(knowledge().settings)


def test_no_text_of_the_knowledge_can_end_its_script_element() -> None:
    kb = knowledge()
    name, cause = next(iter(kb.causes.items()))
    hostile = "</script><script>alert(1)</script><!-- \u2028"
    changed = replace(kb, causes={**kb.causes, name: replace(cause, explain=hostile)})
    text = page(payload(changed) | {"about": {"packed": ""}}).decode()
    assert text.count("</script>") == 2 and "<!--" not in text.removeprefix("<!doctype html>")
    data = re.search(r'id="knowledge">(.*?)</script>', text, re.S)
    assert data and dict(json.loads(data[1])["knowledge"]["causes"])[name]["explain"] == hostile


def test_the_policy_names_exactly_its_own_script_and_style() -> None:
    text = page({"x": 1}).decode()
    for part, tag in (("script", r"<script>(.*?)</script>"), ("style", r"<style>(.*?)</style>")):
        (inside,) = re.findall(tag, text, re.S)
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{part}-src 'sha256-{digest}'" in text
    assert not re.search(r"\son\w+=", text) and "@@" not in text


def test_every_script_of_the_folder_is_in_the_page() -> None:
    folder = Path(__file__).parents[2] / "diagnose" / "pack" / "web"
    assert sorted(MODULES) == sorted(p.stem for p in folder.glob("*.js"))
    assert "</script" not in script_text() and "innerHTML" not in script_text() and "eval(" not in script_text()


def test_no_script_declares_what_another_declares() -> None:
    """They share one scope, where a later function takes the place of an earlier one without a word."""
    folder = resources.files("diagnose.pack") / "web"
    scripts = "\n".join((folder / f"{name}.js").read_text("utf-8") for name in MODULES)
    names = re.findall(r"^(?:async )?(?:function\*?|class|const|let) (\w+)", scripts, re.M)
    assert "observe" in names
    assert [name for name, times in Counter(names).items() if times > 1] == []


def test_a_cut_holds_only_causes_and_checks_of_its_sensors() -> None:
    held = payload(knowledge(), ["loop"])
    assert not held["whole"] and held["sensors"] == ["loop"]
    for section in ("causes", "checks"):
        assert all(not r.get("devices") or "loop" in r["devices"] for _, r in held["knowledge"][section])
    assert len(held["knowledge"]["rules"]) == len(knowledge().rules)
    assert len(as_data(held)) < len(as_data(payload(knowledge())))


def arguments(**given: Any) -> argparse.Namespace:
    usual = {"output": "", "sensors": "", "gear": "", "profile": [], "knowledge": "", "plain": True, "width": 80}
    return argparse.Namespace(force=False, **{**usual, **given})


def test_the_command_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "out.html"
    assert pack(arguments(output=str(target), sensors="loop,edge", profile=["demo_site"])) == 0
    assert target.stat().st_size < 2_000_000 and b"demo_site" in target.read_bytes()
    assert "MB" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"sensors": "sonar"}, "unknown sensor kind sonar"),
        ({"profile": ["nowhere"]}, "cannot read the profile"),
        ({"output": "no/such/folder/x.html"}, "cannot write"),
    ],
)
def test_the_command_says_what_it_cannot_do(given: dict[str, Any], says: str, tmp_path: Path) -> None:
    given = {k: str(tmp_path / v) if k == "output" else v for k, v in given.items()}
    with pytest.raises(VisitError, match=says):
        pack(arguments(**{"output": str(tmp_path / "x.html"), **given}))
