"""A packed page of the shipped knowledge, opened in headless Chromium from the disk, and what its engine says."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from diagnose.model.gear import Gear
from diagnose.pack.build import payload
from diagnose.pack.page import page
from diagnose.session.events import Event, to_plain
from diagnose.store.profiles import load_profile
from tests.shipped import knowledge

PROFILES = ("demo_device", "demo_site")
FOLLOW = """(events) => {
  const { kb, step, state } = gateDiagnose;
  let session = null;
  return events.map((event, i) => {
    try {
      session = step(kb, session, event);
      return state(session, i === events.length - 1);
    } catch (error) {
      return { error: error.message };
    }
  });
}"""


def packed(sensors: Sequence[str] = (), profiles: Sequence[str] = PROFILES, gear: Gear = ()) -> bytes:
    content = payload(knowledge(), sensors, [load_profile(p) for p in profiles], gear)
    return page(content | {"about": {"packed": "2026-11-25"}})


def opened(browser: Browser, path: Path) -> Page:
    """The page at `path`, opened as a file; an error of its script fails the test."""
    tab = browser.new_page(viewport={"width": 360, "height": 740})
    tab.goto(path.as_uri())
    tab.wait_for_selector("#top")
    return tab


def followed(tab: Page, events: Sequence[Event]) -> list[dict[str, Any]]:
    """What the page's engine concludes after each event, or {'error': ...}."""
    plain = json.loads(json.dumps([to_plain(e) for e in events]))
    found: list[dict[str, Any]] = tab.evaluate(FOLLOW, plain)
    return found
