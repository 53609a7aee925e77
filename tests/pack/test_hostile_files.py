"""Visit files that mean no good, taken in by the page."""

from pathlib import Path

from playwright.sync_api import Browser

from diagnose.model.visit import Setup
from diagnose.session.events import Back, Begin, Reply, TakeOver
from tests.pack.page import opened
from tests.pack.test_files import written

EVIL = '<img src=x onerror="document.title=1"><script>document.title=1</script>'


def test_a_visit_with_markup_in_every_field_is_taken_in_as_text(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    setup = Setup("technician", devices=("loop",), profile={"lamp.power": EVIL, f"lamp.{EVIL}": EVIL})
    reply = Reply("anyone_touched", "nobody", True, EVIL, EVIL)
    taken = TakeOver(Setup("technician", False, frozenset([EVIL]), ("loop",), setup.profile), EVIL)
    tab = opened(browser, whole_page)
    title = tab.title()
    path = written(tmp_path, [Begin(setup, "ghost_opening", EVIL, EVIL, EVIL, EVIL), reply, taken])
    tab.set_input_files("input[type=file]", path)
    tab.wait_for_selector("text=Hand over this visit")
    for summary in tab.query_selector_all("summary"):
        summary.click()
    assert EVIL in tab.inner_text("#main") and tab.title() == title
    assert tab.query_selector("#main img, #main script") is None
    tab.reload()
    tab.wait_for_selector("text=Hand over this visit")  # whatever its id, it is found again


def test_a_file_without_its_beginning_is_used_and_says_what_is_lost(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    tab = opened(browser, whole_page)
    for event in (Reply("anyone_touched", "nobody"), Back()):
        tab.set_input_files("input[type=file]", written(tmp_path, [event]))
        tab.wait_for_selector("text=The opening of this visit is lost")
        tab.click("text=All visits")
    assert tab.locator(".visits > li").count() == 2
