"""Every answer is on the disk before the next question: the browser may be killed at any time after.

A hundred kills, one after another: `python -m tests.bench.page_kills 100`.
"""

from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.bench.page_kills import once
from tests.pack.page import opened
from tests.pack.walk import begin

FAILING = (
    "() => { IDBDatabase.prototype.transaction = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
)


def test_what_was_taken_is_there_again_after_the_browser_is_killed(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    """The browser wrote it within a minute before: eight answers in 47 s, one of them left."""
    assert once(browser.browser_type, whole_page, tmp_path / "profile", 3) == 0


def test_a_press_that_comes_while_the_one_before_is_written_is_not_taken(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"])
    tab.evaluate("() => { const b = document.querySelector('.options button'); b.click(); b.click(); b.click(); }")
    tab.wait_for_function("() => document.querySelector('h2#top').textContent.startsWith('2. ')")


def test_a_disk_that_fails_is_said_and_the_answer_still_kept_for_the_other_tabs(
    browser: Browser, whole_page: Path
) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"])
    tab.evaluate(FAILING)
    tab.evaluate("() => document.querySelector('.options button').click()")
    tab.wait_for_function("() => document.getElementById('status').textContent.startsWith('Saved, but')")
    assert _question(tab).startswith("2. ")


def _question(tab: Page) -> str:
    return tab.inner_text("h2#top")
