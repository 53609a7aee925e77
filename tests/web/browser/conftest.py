"""One server for all tests of a module, a fresh context for every test."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.web.browser.served import Site, served

PHONE = {"width": 360, "height": 740}
Opener = Callable[..., Page]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    folder: Path = tmp_path_factory.mktemp("served")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(folder / "data"))
        with served(folder) as found:
            yield found


@pytest.fixture
def opener(browser: Browser, site: Site) -> Iterator[Opener]:
    """Opens a page of its own context: as from another device. Errors of scripts fail the test."""
    contexts, wrong = [], list[str]()

    def opened(**options: Any) -> Page:
        context = browser.new_context(base_url=site.address, **{"viewport": PHONE, **options})
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if "Content Security" in said.text else None)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert wrong == []


@pytest.fixture
def page(opener: Opener) -> Page:
    return opener()
