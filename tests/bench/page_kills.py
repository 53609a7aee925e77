"""The offline page's browser killed while somebody answers: what was on the screen has to be there again.

python -m tests.bench.page_kills 100
"""

import os
import shutil
import signal
import sys
import time
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import BrowserContext, BrowserType, Page, sync_playwright

from tests.chromium import NAMES
from tests.pack.page import packed
from tests.pack.walk import answer, begin, singly

COUNTED = "() => Number(document.querySelector('h2#top')?.textContent.match(/^(\\d+)\\. /)?.[1] ?? 0)"


def asked(tab: Page) -> int:
    """The number of the question on the screen; 0: none is."""
    number: int = tab.evaluate(COUNTED)
    return number


def answered(tab: Page, most: int) -> int:
    """Answers until so many are given; what is asked then is on the screen."""
    for count in range(most):
        answer(tab, None)
        tab.wait_for_function("() => !document.querySelector('main[aria-busy]')")
        singly(tab)
        tab.wait_for_function(f"() => ({COUNTED})() === {count + 2}")
    return most


def kill(profile: Path) -> None:
    """Every process of the browser that keeps its things there, without a word; back when none is left."""
    while alive := [p for p in Path("/proc").iterdir() if p.name.isdigit() and str(profile).encode() in _command(p)]:
        for entry in alive:
            with suppress(ProcessLookupError):
                os.kill(int(entry.name), signal.SIGKILL)
        time.sleep(0.05)


def _command(entry: Path) -> bytes:
    try:
        return (entry / "cmdline").read_bytes()
    except OSError:
        return b""


def _browser(chromium: BrowserType, profile: Path) -> BrowserContext:
    binary = next(filter(None, map(shutil.which, NAMES)), None)
    return chromium.launch_persistent_context(profile, executable_path=binary, args=["--no-sandbox"])


def once(chromium: BrowserType, page: Path, profile: Path, answers: int) -> int:
    """How many acknowledged answers were lost by killing the browser as soon as the last of them was."""
    first = _browser(chromium, profile)
    tab = first.pages[0]
    tab.goto(page.as_uri())
    begin(tab, "ghost_opening", ["laser"])
    answered(tab, answers)
    address = tab.url
    kill(profile)
    again = _browser(chromium, profile)
    tab = again.pages[0]
    tab.goto(address)
    tab.wait_for_selector("h2#top")
    singly(tab)
    lost = answers + 1 - asked(tab)
    again.close()
    return lost


def main() -> None:
    kills, lost = int(sys.argv[1]), []
    with TemporaryDirectory() as folder, sync_playwright() as play:
        page = Path(folder) / "diagnose.html"
        page.write_bytes(packed())
        for number in range(kills):
            lost.append(once(play.chromium, page, Path(folder) / f"profile{number}", 1 + number % 4))
            if len(lost) % 10 == 0 or len(lost) == kills:  # a run that is cut off has said what it saw
                lossy = sum(n > 0 for n in lost)
                print(f"{len(lost)} kills of the browser: {lossy} lost answers, {sum(lost)} in all", flush=True)


if __name__ == "__main__":
    main()
