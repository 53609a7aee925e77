"""`diagnose serve` as a process of its own: started, stopped, started again."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from tests.web.browser.person import answer, asked, begin, expect_heading, press
from tests.web.browser.served import served
from tests.web.browser.test_pages import findings, small_targets

STOPS_WITHIN_S = 20.0


@contextmanager
def process(data: Path) -> Iterator[str]:
    """The address it says it serves; Ctrl-C must end it well."""
    environment = {**os.environ, "XDG_DATA_HOME": str(data), "PYTHONUNBUFFERED": "1"}
    command = [sys.executable, "-m", "diagnose", "serve", "--port", "0"]
    with subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as run:
        assert run.stdout
        first = run.stdout.readline()
        address = re.match(r"http://127\.0\.0\.1:\d+", first)
        try:
            assert address, first
            yield address[0]
        finally:
            run.send_signal(signal.SIGINT)
            rest, _ = run.communicate(timeout=STOPS_WITHIN_S)
        assert run.returncode == 0 and "saved" in rest, rest


def opened(browser: Browser, address: str) -> Page:
    return browser.new_context(base_url=address).new_page()


def test_a_password_keeps_everything_shut(browser: Browser, tmp_path: Path) -> None:
    with served(tmp_path, "an invented password") as site:
        page = opened(browser, site.address)
        page.goto("/history")
        expect_heading(page, "Password")
        assert list(findings(page)) == [] and small_targets(page) == []
        page.fill("#password", "another password")
        press(page, "Log in")
        expect(page.get_by_role("alert")).to_contain_text("not the password")
        page.fill("#password", "an invented password")
        page.press("#password", "Enter")
        expect_heading(page, "Visits")
        begin(page, "stuck_open", sensors=["laser"])
        page.get_by_text("More", exact=True).click()
        press(page, "Log out")
        expect_heading(page, "Password")
        page.context.close()


def test_a_visit_outlives_the_server(browser: Browser, tmp_path: Path) -> None:
    with process(tmp_path) as address:
        page = opened(browser, address)
        name = begin(page, "stuck_open", sensors=["laser"], site="invented lane")
        answer(page, "dont_know")
        check = asked(page)
        page.context.close()
    with process(tmp_path) as address:
        page = opened(browser, address)
        page.goto("/")
        expect(page.locator(".visits")).to_contain_text("invented lane")
        page.goto(f"/visit/{name}")
        assert asked(page) == check
        page.context.close()
