from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.pack.page import opened, packed


@pytest.fixture(scope="session")
def whole_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pack") / "diagnose.html"
    path.write_bytes(packed())
    return path


@pytest.fixture(scope="module")
def tab(browser: Browser, whole_page: Path) -> Page:
    """One tab for all tests of a module that only ask its engine."""
    return opened(browser, whole_page)
