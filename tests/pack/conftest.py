from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page

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


@pytest.fixture(autouse=True)
def until_it_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """A person presses, and sees what comes next only when what he pressed is on the disk."""
    for kind, names in ((Page, ("click", "press", "set_input_files")), (Locator, ("click", "press"))):
        for name in names:
            monkeypatch.setattr(kind, name, _waiting(getattr(kind, name)))


def _waiting(act: Callable[..., None]) -> Callable[..., None]:
    def acted(where: Any, *given: Any, **more: Any) -> None:
        act(where, *given, **more)
        tab = where.page if isinstance(where, Locator) else where
        tab.wait_for_function("() => !document.querySelector('main[aria-busy]')")

    return acted
