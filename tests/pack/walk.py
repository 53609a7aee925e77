"""A person's hands on the page."""

from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import Page

from diagnose.words import say


def begin(
    tab: Page, complaint: str, devices: Sequence[str] = (), role: str = "technician", site: str = "", words: str = ""
) -> None:
    """A new visit, up to its first question."""
    tab.click("nav >> text=New visit")
    tab.check(f"input[name=role][value={role}]")
    for device in devices:
        tab.check(f"input[name=device][value={device}]")
    tab.get_by_label("What is this site called").fill(site)
    tab.get_by_label("In the site's own words").fill(words)
    tab.check(f"input[name=complaint][value={complaint}]")
    tab.click("text=Begin")
    tab.wait_for_selector("text=Hand over this visit")


def strike_out(tab: Page) -> None:
    """Nothing of what was heard in the first words stands."""
    for box in tab.locator("input[name=take]").all():
        box.uncheck()
    tab.click(f"text={say('web.heard_go_on')}")


def singly(tab: Page) -> None:
    """This person is asked one thing at a time."""
    one = tab.get_by_role("button", name=say("web.one_at_a_time"), exact=True)
    if one.count():
        one.click()


def answer(tab: Page, wanted: str | None) -> None:
    """The option that begins with `wanted`; None: the first option, or 'don't know' where a number is asked."""
    singly(tab)
    options = tab.locator(".options button")
    if wanted is None and not options.count():
        tab.click("text=Don't know")
    else:
        (options.filter(has_text=wanted) if wanted else options).first.click()


def save_file(tab: Page, folder: Path) -> Path:
    """The visit file, as the page saves it."""
    folder.mkdir(exist_ok=True)
    if not tab.locator("button:has-text('Save ')").count():
        tab.click("summary:has-text('Hand over this visit')")
    with tab.expect_download() as saving:
        tab.click("button:has-text('Save ')")
    path = folder / saving.value.suggested_filename
    saving.value.save_as(path)
    return path
