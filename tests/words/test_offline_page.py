"""One visit on the offline page in a language that nobody speaks: no English is left on any of its screens."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from diagnose.cli import main
from diagnose.words import say, speaking
from tests.pack.page import opened
from tests.pack.walk import singly
from tests.shipped import knowledge
from tests.words.pseudo import CODE, accented, plain_words

EVERYTHING = """() => [
  document.title,
  ...[...document.querySelectorAll("[aria-label]")].map((x) => x.getAttribute("aria-label")),
  ...[...document.querySelectorAll("option")].map((x) => x.textContent),
  document.body.innerText,
].join("\\n")"""
UNFOLD = """() => {
  for (let n = 0; n < 3; n += 1) for (const x of document.querySelectorAll("details:not([open])")) x.open = true;
}"""
NAMES = (  # of files, facts, devices and the knowledge: the same in every language
    r"\b[0-9a-f]{16}\b",
    r"\b[\w.]+ = [\w.]+",
    r"\d{8}-\d{6}\.visit",
    r"\.visit",
)
TYPED = "7 typed here 7"


@pytest.fixture
def foreign(browser: Browser, pseudo_folder: Path, tmp_path: Path) -> Iterator[Page]:
    """The page, packed in the pseudo-language."""
    path, words = tmp_path / "page.html", pseudo_folder / "words" / CODE
    with speaking("en"):
        given = ["--lang", str(words), "--knowledge", str(pseudo_folder / "knowledge"), "-o", str(path), "--plain"]
        assert main(["offline", *given]) == 0
    with speaking(str(words)):
        yield opened(browser, path)


def left(tab: Page) -> set[str]:
    """Words on the screen that were not said in its language, everything unfolded."""
    tab.evaluate(UNFOLD)
    tab.wait_for_timeout(100)  # what unfolds is filled in by an event
    tab.evaluate(UNFOLD)
    tab.wait_for_timeout(100)
    text = tab.evaluate(EVERYTHING).replace(TYPED, "")
    for name in NAMES:
        text = re.sub(name, "", text)
    return set(plain_words(text))


def press(tab: Page, key: str) -> None:
    tab.get_by_role("button", name=say(key), exact=True).first.click()


def test_one_visit_has_no_english_on_it(foreign: Page) -> None:
    tab = foreign
    assert tab.get_attribute("html", "lang") == CODE
    assert left(tab) == set()
    press(tab, "page.new_visit")
    assert left(tab) == set()
    press(tab, "page.begin")  # without a complaint
    assert left(tab) == set()
    tab.get_by_label(say("page.own_words")).fill(TYPED)
    tab.check("input[name=device][value=laser]")
    tab.check("input[name=complaint][value=ghost_opening]")
    press(tab, "page.begin")
    tab.wait_for_selector(".options")
    assert left(tab) == set()
    touched = knowledge().checks["anyone_touched"].options["touched"]
    tab.locator(".options button").filter(has_text=accented(touched)).first.click()
    assert tab.locator(".stop").count() and left(tab) == set()
    through_the_questions(tab)
    press(tab, "page.conclude")
    assert left(tab) == set()
    mended(tab)


def through_the_questions(tab: Page) -> None:
    """A dozen answers, with a reading that is refused where one is asked."""
    for _ in range(12):
        assert left(tab) == set()
        singly(tab)
        if (typed := tab.locator("main form input:not([type=checkbox])[maxlength='60']")).count():
            typed.first.fill("1,234")
            press(tab, "page.answer")
            assert left(tab) == set()
            press(tab, "page.reply_dont_know")
        else:
            tab.locator(".options button").first.click()


def mended(tab: Page) -> None:
    """Repair, proof, return to service, the end."""
    press(tab, "page.note_repair")
    tab.get_by_label(say("present.what_was_seen")).fill(TYPED)
    assert left(tab) == set()
    press(tab, "page.proof_passed")
    assert left(tab) == set()
    tab.evaluate(UNFOLD)
    assert left(tab) == set()
    way = tab.locator("details", has=tab.get_by_label(say("present.ask_reason_left_out")))
    way.get_by_text(say("page.end_so")).click()  # without a reason
    assert left(tab) == set()
    tab.evaluate(UNFOLD)
    tab.get_by_label(say("present.ask_reason_left_out")).fill(TYPED)
    way.get_by_text(say("page.end_so")).click()
    assert left(tab) == set()
    press(tab, "page.all_visits")
    assert left(tab) == set()
