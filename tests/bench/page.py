"""How fast the offline page answers, against the engine of record in the same run on the same visits.

python -m tests.bench.page
"""

import json
import shutil
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from playwright.sync_api import sync_playwright

from diagnose.core.reason import Reasoner
from diagnose.kb.files import shipped_folder
from diagnose.session.events import Event, to_plain
from diagnose.session.session import conclude, step
from diagnose.terminal.replay import script_events
from tests.chromium import NAMES
from tests.pack.page import opened, packed
from tests.shipped import knowledge, reasoner

SPEED = """(events) => {
  const { kb, step, conclude } = gateDiagnose;
  let session = null;
  return events.map((event) => {
    const began = performance.now();
    session = step(kb, session, event);
    conclude(session);
    return performance.now() - began;
  });
}"""
VISITS = ("ghost_in_rain", "failed_first_remedy", "two_faults")


def here(events: list[Event]) -> list[float]:
    """Milliseconds of the engine of record for each event, nothing remembered from another visit."""
    session, found, fresh = None, [], Reasoner(knowledge())
    for event in events:
        began = perf_counter()
        session = step(knowledge(), session, event)
        conclude(fresh, session)
        found.append(1000 * (perf_counter() - began))
    return found


def main() -> None:
    with TemporaryDirectory() as folder, sync_playwright() as play:
        path = Path(folder) / "diagnose.html"
        path.write_bytes(packed())
        binary = next(filter(None, map(shutil.which, NAMES)), None)
        tab = opened(play.chromium.launch(executable_path=binary, args=["--no-sandbox"]), path)
        for name in VISITS:
            events = script_events(reasoner(), shipped_folder("transcripts_demo") / f"{name}.yaml")
            there = tab.evaluate(SPEED, json.loads(json.dumps([to_plain(e) for e in events])))
            page, record = median(there), median(here(events))
            print(f"{name}: page {page:.0f} ms, engine of record {record:.0f} ms an event, ratio {page / record:.1f}")


if __name__ == "__main__":
    main()
