"""No answer fits: the person's own words, on the offline page."""

from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from diagnose.model.visit import SOMETHING_ELSE
from diagnose.session.events import Reply
from diagnose.store.journal import read
from diagnose.words import say
from tests.pack.page import opened
from tests.pack.walk import begin, save_file
from tests.shipped import knowledge

FIRST = knowledge().settings.opening[0]
WORDS = "purple <b>monkeys</b>"


def say_else(tab: Page, words: str) -> None:
    tab.get_by_label(say("web.else")).fill(words)
    tab.click(f"text={say('web.keep_words')}")


def test_the_words_stand_as_the_answer_in_the_list_and_in_the_file(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening")
    say_else(tab, WORDS)
    expect(tab.locator("h2#top")).to_contain_text("2. ")
    tab.click("text=Answers so far")
    expect(tab.locator("main")).to_contain_text(f'something else: "{WORDS}"')
    replies = [e for e in read(save_file(tab, tmp_path)).events if isinstance(e, Reply)]
    assert [(r.check, r.value, r.note) for r in replies] == [(FIRST, SOMETHING_ELSE, WORDS)]


def test_it_needs_words(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening")
    say_else(tab, "   ")
    expect(tab.locator("#status")).to_contain_text("needs your own words")
    expect(tab.locator("h2#top")).to_contain_text("1. ")


def test_what_else_is_heard_in_the_words_is_shown_to_be_taken(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening")
    say_else(tab, "the boss says only when it rains")
    expect(tab.locator("h2#top")).to_have_text(say("present.heard"))
    tab.click(f"text={say('web.heard_go_on')}")
    expect(tab.locator("h2#top")).to_contain_text("3. ")
