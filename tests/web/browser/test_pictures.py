"""The shipped pictures as a phone shows them."""

from playwright.sync_api import Page, expect

from tests.shipped import knowledge
from tests.web.browser.conftest import Opener
from tests.web.browser.served import Site
from tests.web.browser.tours import at, prepared

LETTERS = """() => [...document.querySelectorAll("svg[role=img]")].flatMap(svg => {
  const edge = svg.getBoundingClientRect(), wrong = [];
  const words = [...svg.querySelectorAll("text")].map(t => [t.textContent, t.getBoundingClientRect(), t]);
  const beside = b => b.left < edge.left - 1 || b.right > edge.right + 1;
  const outside = b => beside(b) || b.top < edge.top || b.bottom > edge.bottom;
  const meet = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4;
  for (const [i, [text, box, element]] of words.entries()) {
    if (outside(box)) wrong.push(`${text} leaves the picture`);
    const shown = parseFloat(getComputedStyle(element).fontSize) * edge.width / svg.viewBox.baseVal.width;
    if (shown < 13.99) wrong.push(`${text} is too small`);
    for (const [other, otherBox] of words.slice(i + 1)) if (meet(box, otherBox)) wrong.push(`${text} / ${other}`);
  }
  return wrong.map(says => `${svg.querySelector("title").textContent}: ${says}`);
})"""


def show(page: Page, *pictures: str) -> list[str]:
    drawn = "".join(f"<div style='width:320px'>{picture}</div>" for picture in pictures)
    page.set_content(f"<body style='margin:0'>{drawn}</body>")
    wrong: list[str] = page.evaluate(LETTERS)
    return wrong


def test_letters_that_overlap_or_leave_are_seen(page: Page) -> None:
    words = "<text x='290' y='20' font-size='14'>words</text><text x='286' y='22' font-size='12'>more</text>"
    wrong = show(page, f"<svg role='img' viewBox='0 0 320 40'><title>t</title>{words}</svg>")
    assert wrong == ["t: words leaves the picture", "t: words / more", "t: more is too small"]


def test_every_word_of_the_shipped_pictures_can_be_read(page: Page) -> None:
    pictures = knowledge().pictures
    assert show(page, *pictures.values()) == []
    assert page.locator("svg").count() == len(pictures)


def test_the_browser_finds_nothing_in_a_picture_but_the_drawing(page: Page) -> None:
    """HTML may read a text otherwise than XML does; what it finds must be what the check of the knowledge saw."""
    show(page, *knowledge().pictures.values())
    found = page.evaluate("[...document.querySelectorAll('div *')].map(e => e.namespaceURI + ' ' + e.localName)")
    assert {f.rpartition("/")[0] for f in found} == {"http://www.w3.org/2000"}
    assert page.evaluate("document.scripts.length") == 0


def test_a_question_shows_its_picture_in_the_page_s_own_colours(opener: Opener, site: Site) -> None:
    name = prepared(site, at("gate_made_safe"), "stuck_open", "laser")
    for scheme, ink in (("light", "rgb(0, 0, 0)"), ("dark", "rgb(255, 255, 255)")):
        page = opener(color_scheme=scheme)
        page.goto(f"/visit/{name}")
        picture = page.locator("figure svg")
        if not picture.is_visible():
            page.get_by_text("How to do this check").click()
        expect(picture).to_be_visible()
        expect(picture.locator("title")).to_have_text("Leaving the gate safe")
        assert page.evaluate(LETTERS) == []
        drawn = page.evaluate("getComputedStyle(document.querySelector('figure svg text')).fill")
        ground = page.evaluate("getComputedStyle(document.querySelector('figure svg')).backgroundColor")
        assert drawn == ink and ground == "rgba(0, 0, 0, 0)", scheme
