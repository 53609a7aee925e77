"""The system's Chromium, one for all tests of a process: Playwright allows no second one beside it."""

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The test is skipped where there is none."""
    binary = next(filter(None, map(shutil.which, NAMES)), None)
    if binary is None:
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=binary, args=["--no-sandbox"])
        yield launched
        launched.close()
