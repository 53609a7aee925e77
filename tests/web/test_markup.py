"""Every page is readable without eyes and without a mouse: landmarks, labels, headings, ids. WCAG 2.2: 1.3.1, 2.4.1,
2.4.6, 3.1.1, 3.3.2, 4.1.2 (from memory); an outside checker runs in the browser tests."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from diagnose.practice.gate import Gate
from diagnose.web.exercises import ExerciseFolder
from tests.shipped import quick
from tests.web.tab import Tab, client
from tests.web.test_exercises import fixed

TEMPLATES = Path(__file__).parents[2] / "diagnose" / "web" / "templates"
UNLABELLED = ("hidden", "submit")


class Page(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.inside: list[str] = []
        self.bare: list[str] = []  # fields that stand in no label
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {k: v or "" for k, v in attrs}
        self.tags.append((tag, given))
        if tag in ("label", "main", "header", "aside", "footer"):
            self.inside.append(tag)
        field = tag in ("input", "select", "textarea") and given.get("type") not in UNLABELLED
        if field and "label" not in self.inside:
            self.bare.append(given.get("id", ""))

    def handle_endtag(self, tag: str) -> None:
        if self.inside[-1:] == [tag]:
            self.inside.pop()

    def of(self, *tags: str) -> list[dict[str, str]]:
        return [given for tag, given in self.tags if tag in tags]


def everywhere(folder: Path) -> Iterator[tuple[str, str]]:
    """(address, page) for every kind of page."""
    exercises = ExerciseFolder(quick(), folder / "practice", _fixed)
    shown = Tab(client(folder / "visits", exercises=exercises))
    for path in ("/", "/start", "/takeover", "/history?q=x", "/practice", "/nowhere"):
        yield path, shown.open(path).text
    shown.begin(site="Yard")
    address = shown.address
    yield "question", shown.text
    shown.send(next(f for f in shown.forms() if f.buttons), check="ctl_supply_marked", answer="8 V")
    yield "doubt", shown.text
    shown.open(address).send(next(f for f in shown.forms() if f.buttons), check="anyone_touched", answer="touched")
    yield "stop-work", shown.text
    for part in ("/answers", "/complaint", "/likely", "/sheet", "/record", "/change/anyone_touched"):
        yield part, shown.open(address + part).text
    yield "conclusion", shown.open(address).do("conclude").text
    form = shown.form("repaired")
    cause = re.search(r'name="cause" value="(\w+)"', shown.text)
    assert cause
    yield "proof", shown.send(form, cause=cause[1]).text
    yield "proved", shown.do("proved", passed="yes").text
    form = next(f for f in shown.forms() if f.fields.get("outcome") == "left_out")
    yield "ending", shown.send(form, reason="no part").text
    shown.open("/practice").send(next(f for f in shown.forms() if f.action == "/practice"), trainee="me", lesson="")
    yield "exercise", shown.text
    opened = shown.address
    for part in ("/check/anyone_touched", "/repair"):
        yield f"exercise{part}", shown.open(opened + part).text
    yield "debrief", shown.open(opened).do("finish").text


def _fixed(*_: object) -> Gate:
    return fixed()


def test_every_page_has_its_landmarks_labels_and_headings_in_order(tmp_path: Path) -> None:
    seen = 0
    for address, text in everywhere(tmp_path):
        page, seen = Page(text), seen + 1
        assert page.of("html")[0].get("lang") == "en", address
        assert len(page.of("main")) == len(page.of("h1")) == len(page.of("header")) == 1, address
        assert all("aria-label" in nav for nav in page.of("nav")), address
        assert page.of("a")[0] == {"class": "skip", "href": "#main"}, address
        ids = [given["id"] for _, given in page.tags if "id" in given]
        assert len(ids) == len(set(ids)), address
        named = {given.get("for") for given in page.of("label")}
        assert all(field and field in named for field in page.bare), (address, page.bare)
        for _, given in page.tags:
            for reference in (given.get("aria-labelledby", "") + " " + given.get("aria-describedby", "")).split():
                assert reference in ids, (address, reference)
        levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
        assert levels[0] == 1 and all(b <= a + 1 for a, b in pairwise(levels)), (address, levels)
        assert all("style" not in given and not any(k.startswith("on") for k in given) for _, given in page.tags)
        assert all("src" in script for script in page.of("script")) and not page.of("style", "iframe", "object")
    assert seen == 23


def test_no_template_lets_text_through_unescaped() -> None:
    texts = {path.name: path.read_text("utf-8") for path in TEMPLATES.glob("*.html")}
    assert len(texts) > 20
    for name, text in texts.items():
        assert not re.search(r"\|\s*safe|Markup|autoescape|<style|style=|\bon[a-z]+=", text), name


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(scheme: str) -> None:
    """Contrast of at least 7:1 for text, 3:1 for frames (WCAG 2.2, 1.4.6 and 1.4.11; formula from memory)."""
    css = (TEMPLATES.parent / "static" / "page.css").read_text("utf-8")
    colours: dict[str, str] = {}
    blocks = re.findall(r":root \{(.*?)\}", css, re.S)
    for block in blocks[: 1 if scheme == "light" else 2]:
        colours |= dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})", block))
    text = [("ink", "paper"), ("quiet", "paper"), ("link", "paper"), ("ink", "button"), ("link", "button")]
    text += [("on-strong", "strong"), ("on-yellow", "yellow"), ("ink", "wrong")]
    assert all(contrast(colours[a], colours[b]) >= 7.0 for a, b in text)
    assert contrast("#ffffff", colours["alarm"]) >= 7.0
    assert all(contrast(colours[a], colours["paper"]) >= 3.0 for a in ("line", "red", "good", "level", "link"))


def contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
