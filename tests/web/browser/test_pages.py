"""Every kind of page: accessible, no wider than the narrowest phone, made for thumbs and for keys."""

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from diagnose.session.events import Conclude
from tests.web.browser.conftest import Opener
from tests.web.browser.person import asked
from tests.web.browser.served import Site
from tests.web.browser.tours import PAGES, after, prepared, reading

GRAVE = ("serious", "critical")
SMALLEST_TARGET = 44  # CSS pixels: WCAG 2.2, 2.5.5 Target size (enhanced)
# What a thumb hits: a tick's label counts with it, and a link within a sentence is exempt (2.5.5, inline).
TARGETS = """() => [...document.querySelectorAll("a, button, input, select, summary")]
  .map(e => e.matches("input[type=radio], input[type=checkbox]") ? e.closest("label") ?? e : e)
  .filter(e => !(e.matches("a") && getComputedStyle(e).display === "inline" && e.closest("p, li")))
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect(), e.checkVisibility({visibilityProperty: true})])
  .filter(([html, box, seen]) => seen && box.width > 1 && box.right > 0)
  .map(([html, box]) => [html, Math.round(box.width), Math.round(box.height)])"""


def findings(page: Page) -> Iterator[tuple[str, str, str]]:
    result: dict[str, Any] = Axe().run(page).response
    for rule in result["violations"]:
        if rule["impact"] in GRAVE:
            yield rule["id"], rule["impact"], rule["nodes"][0]["html"][:200]


def test_axe_finds_what_is_wrong(page: Page) -> None:
    """Else the silence below would prove nothing."""
    page.set_content("<html><body><main><img src=x><input><p style='color:#aaa'>pale</p></main></body></html>")
    assert {"image-alt", "label", "color-contrast", "html-has-lang"} <= {rule for rule, _, _ in findings(page)}


def test_a_narrow_target_and_a_wide_page_are_seen(page: Page) -> None:
    button = "<button style='width:20px;height:20px;padding:0'>x</button>"
    page.set_content(f"<body style='margin:0'><div style='width:500px'>{button}</div>")
    assert [target[1:] for target in small_targets(page)] == [(20, 20)] and overflow(page) == 140


def overflow(page: Page) -> int:
    """How many pixels the page can be pushed sideways."""
    width: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return width


def small_targets(page: Page) -> list[tuple[str, int, int]]:
    """What is too small for a thumb: the element, its width and its height."""
    targets = [(str(html), int(width), int(height)) for html, width, height in page.evaluate(TARGETS)]
    assert targets
    return [t for t in targets if min(t[1], t[2]) < SMALLEST_TARGET]


@pytest.mark.parametrize("kind", PAGES)
def test_page(opener: Opener, site: Site, kind: str) -> None:
    page = opener(color_scheme="dark" if len(kind) % 2 else "light")
    PAGES[kind](page, site)
    assert list(findings(page)) == []
    assert overflow(page) == 0
    assert small_targets(page) == []
    assert page.locator("h1").count() == 1 and page.locator("main").count() == 1
    assert page.title().strip()


HERE = {"question": "Next", "conclusion": "Next", "change": "Answers", "complaint": "Answers", "likely": "Likely"}


@pytest.mark.parametrize(("kind", "label"), HERE.items())
def test_the_page_says_where_one_is(page: Page, site: Site, kind: str, label: str) -> None:
    PAGES[kind](page, site)
    assert page.locator("nav [aria-current=page]").all_inner_texts() == [label]


SMALL = {"width": 360, "height": 640}


@pytest.mark.parametrize(("complaint", "device"), [("ghost_opening", "laser"), ("stuck_open", "loop")])
def test_a_conclusion_fits_a_small_phone(opener: Opener, site: Site, complaint: str, device: str) -> None:
    """What it is, how sure, the deciding test and what mending takes are read without scrolling."""
    page = opener(viewport=SMALL)
    page.goto(f"/visit/{prepared(site, after(4), complaint, device, Conclude(), place='invented depot')}")
    leader = page.locator(".leader").bounding_box()
    assert leader and leader["y"] + leader["height"] <= SMALL["height"]
    for words in ("Deciding test:", "Mending takes about"):
        expect(page.locator(".leader")).to_contain_text(words)
    assert page.locator("main details[open]").count() == 0


def test_colours_in_both_schemes_and_widths(opener: Opener, site: Site) -> None:
    """The other scheme of the pages that matter most, and a desk's screen."""
    for kind in ("question", "stop_work"):
        for scheme in ("light", "dark"):
            page = opener(color_scheme=scheme, viewport={"width": 1280, "height": 800})
            PAGES[kind](page, site)
            assert list(findings(page)) == [], (kind, scheme)
            assert overflow(page) == 0


def test_text_twice_as_large_still_fits(opener: Opener, site: Site) -> None:
    """WCAG 2.2, 1.4.4 and 1.4.10: a page of 320 px is one of 640 px zoomed twice."""
    page = opener(viewport={"width": 320, "height": 640})
    for kind in ("start", "reading", "conclusion"):
        PAGES[kind](page, site)
        assert overflow(page) == 0, kind


def focused(page: Page) -> str:
    text: str = page.evaluate("document.activeElement.value || document.activeElement.innerText || ''")
    return text.strip()


def tab_to(page: Page, selector: str) -> None:
    """Tab until the element has the focus; it must show it."""
    for _ in range(150):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", f"{selector} has the focus and does not show it"
            return
    raise AssertionError(f"{selector} cannot be reached with Tab")


def press_enter(page: Page) -> None:
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_a_call_with_the_keyboard_alone(opener: Opener, site: Site) -> None:
    page = opener(viewport={"width": 1280, "height": 800})
    page.goto("/")
    tab_to(page, "a[href='/start?role=help_desk']")
    press_enter(page)
    expect(page.locator("input[name=role][value=help_desk]")).to_be_checked()
    tab_to(page, "input[name=sensor][value=laser]")
    page.keyboard.press("Space")
    tab_to(page, "#words")
    page.keyboard.type("it stays open all day")
    press_enter(page)
    expect(page.locator(".matches")).to_be_visible()
    tab_to(page, "input[name=complaint]")
    page.keyboard.press("Space")
    tab_to(page, "button[value=begin]")
    press_enter(page)
    tab_to(page, "input[name=take]")
    for _ in range(page.locator("input[name=take]").count()):
        page.keyboard.press("Space")  # what was heard is struck out
        page.keyboard.press("Tab")
    tab_to(page, "form.answer button.strong")
    press_enter(page)
    name = page.url.rsplit("/", 1)[-1]
    first = asked(page)
    with page.expect_navigation():
        page.keyboard.press("1")
    given = site.session(name).given
    assert [a.check for a in given] == [first]
    second = asked(page)
    tab_to(page, "button[value=dont_know]")
    press_enter(page)
    assert [a.check for a in site.session(name).given] == [first, second]


def test_a_reading_is_typed_and_sent_with_enter(page: Page, site: Site) -> None:
    name = prepared(site, reading, "zone_wrong", "radar")
    page.goto(f"/visit/{name}")
    check = asked(page)
    page.locator("#reading").press_sequentially("3,5 m ?")  # '?' is the key of 'don't know' outside the field
    assert page.input_value("#reading") == "3,5 m ?" and site.session(name).answer(check) is None
    press_enter(page)
    given = site.session(name).answer(check)
    assert given and given.value == 3.5 and not given.sure


def test_the_skip_link_comes_first(page: Page) -> None:
    page.goto("/start")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Tab")
    while focused(page) != "Skip to the content":
        page.keyboard.press("Shift+Tab")
    box = page.locator(".skip").bounding_box()
    assert box and box["x"] >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
