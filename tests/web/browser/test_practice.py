"""A practice exercise in the browser: every page of it, on a gate whose fault the test knows."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from diagnose.practice.gate import Gate
from tests.practice.gates import drops
from tests.web.browser.person import do, expect_heading, press, says_of, tap
from tests.web.browser.served import Site, served
from tests.web.browser.test_pages import findings, overflow, small_targets

FAULT = "window_wet_drops"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """A server that always draws the gate with drops on its window."""

    def drawn(*_: object) -> Gate:
        return drops()

    with pytest.MonkeyPatch.context() as patch:
        folder: Path = tmp_path_factory.mktemp("practice")
        patch.setenv("XDG_DATA_HOME", str(folder / "data"))
        with served(folder, draw=drawn) as found:
            yield found


def looked_at(page: Page, kind: str) -> None:
    assert (list(findings(page)), overflow(page), small_targets(page)) == ([], 0, []), kind


def look_at_the_window(page: Page) -> None:
    """The check is found by its words; what is expected and held likely is said first."""
    page.fill("#suspects", "drops on the window")
    press(page, "Write it down")
    page.fill("#q", "torch held from the side")
    with page.expect_navigation():
        page.press("#q", "Enter")
    tap(page.locator("a[href$='/check/env_window_look']"))
    looked_at(page, "check")
    page.check("input[name=expects][value=drops]")
    page.select_option("#suspect_1", FAULT)
    page.fill("#percent_1", "60 %")
    for careful in page.locator("input[name=prepared]").all():
        careful.check()
    press(page, "Do the check")
    expect(page.get_by_role("region", name="What came of it")).to_contain_text("hanging drops")


def test_an_exercise_from_the_gate_to_the_debrief(page: Page) -> None:
    page.goto("/practice")
    looked_at(page, "lessons")
    page.fill("#trainee", "an invented trainee")
    press(page, "Begin an exercise")
    looked_at(page, "gate")
    exercise = page.url
    look_at_the_window(page)
    tap(page.get_by_role("link", name="Carry out a remedy"))
    looked_at(page, "remedy")
    page.select_option("#cause", FAULT)
    press(page, "Show the remedy and its precautions")
    looked_at(page, "remedy with its precautions")
    page.check("input[name=prepared]")
    press(page, "Carry it out")
    expect(page.get_by_role("heading", name="The proof still has to be made")).to_be_visible()
    page.reload()
    do(page, "prove")
    assert page.url == exercise
    while (line := page.locator("form.line.open button")).count():
        tap(line.first)
    do(page, "finish")
    expect_heading(page, "Debrief")
    expect(page.locator("main")).to_contain_text(f"It was: {says_of(FAULT)}")
    expect(page.get_by_text("UNSAFE")).to_have_count(0)
    looked_at(page, "debrief")
    page.goto("/practice")
    expect(page.locator(".visits")).to_contain_text("ended: debrief")


def test_a_remedy_without_precautions_ends_the_exercise(page: Page) -> None:
    page.goto("/practice")
    page.fill("#trainee", "another invented trainee")
    press(page, "Begin an exercise")
    tap(page.get_by_role("link", name="Carry out a remedy"))
    page.fill("#suspects", "drops on the window")
    press(page, "Write it down")
    tap(page.get_by_role("link", name="Carry out a remedy"))
    page.select_option("#cause", FAULT)
    press(page, "Show the remedy and its precautions")
    press(page, "Carry it out")
    expect(page.locator(".stop")).to_contain_text("UNSAFE")
    looked_at(page, "unsafe debrief")
