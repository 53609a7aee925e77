"""What the page offers and refuses by the session's law, in a person's hands."""

from pathlib import Path

from playwright.sync_api import Browser, Locator, Page

from diagnose.session.events import Conclude, Repaired
from diagnose.store.journal import read
from diagnose.words import say
from tests.pack.page import opened
from tests.pack.walk import answer, begin, save_file, singly


def test_on_a_call_the_technician_who_carried_it_out_is_named(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"], role="help_desk")
    tab.click("text=Conclude now")
    tab.click("summary:has-text('A remedy has been carried out')")
    tab.click("text=Note the repair")
    assert say("session.not_by_caller") in tab.inner_text("#main")
    tab.check("input[name=by]")
    tab.click("text=Note the repair")
    tab.wait_for_selector("text=Proof passed")
    repair = read(save_file(tab, tmp_path)).events[-1]
    assert isinstance(repair, Repaired) and repair.by == "technician"


def dont_know(tab: Page) -> Locator:
    singly(tab)
    return tab.get_by_role("button", name=say("page.reply_dont_know"))


def test_the_conclusion_is_noted_once_nothing_more_would_be_asked(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"], role="help_desk")
    answer(tab, "nobody and nothing")
    while dont_know(tab).count():
        dont_know(tab).click()
    assert read(save_file(tab, tmp_path)).events[-1] == Conclude()
