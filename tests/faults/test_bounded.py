"""Well-formed visit files made to exhaust: refused with the limit; the largest that is taken is quickly done with."""

import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from subprocess import DEVNULL

import pytest

from diagnose.errors import VisitError
from diagnose.model.knowledge import Check
from diagnose.model.visit import Setup
from diagnose.pack.page import script_text
from diagnose.session.events import AnotherFault, Back, Begin, Event, Noted, Proved, Repaired, Reply
from diagnose.store import journal, limits
from diagnose.store.journal import Journal, read
from diagnose.store.limits import MOST_ANSWERS, MOST_ENTRIES, MOST_REPAIRS
from tests.faults.limits import within
from tests.shipped import knowledge

BEGIN = Begin(Setup(), "stuck_open", digest=knowledge().digest, id="bomb")
CAUSES = list(knowledge().causes)


def reading(check: Check) -> Reply:
    """An answer that says something."""
    if check.kind == "quantity" and check.plausible:
        return Reply(check.id, check.plausible[0])
    return Reply(check.id, next(iter(check.options), "yes"))


REPAIRED = [e for n in range(4000) for e in (Repaired(CAUSES[n % 7]), Proved(True), AnotherFault())]
FAILED = [e for n in range(4000) for e in (Repaired(CAUSES[n % len(CAUSES)]), Proved(False))]
ANSWERED = [reading(check) for check in knowledge().checks.values()] * 4
STEPPED = [e for _ in range(4000) for e in (Reply("power_lamp", "steady"), Back())]
TOLD = [Noted("word " * 20, "remark")] * 5000
TOO_MUCH = {
    "repairs proved": (REPAIRED, "at most 10 repairs; end it and begin a new one"),
    "repairs failed": (FAILED, "at most 10 repairs; end it and begin a new one"),
    "answers": (ANSWERED, "at most 120 answers; end it and begin a new one"),
    "notes": (TOLD, "at most 1,000 entries; begin a new one"),
}


@pytest.fixture(autouse=True)
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.fsync", lambda _: None)


def without_limits(folder: Path, events: list[Event]) -> Path:
    """As somebody else's program may write it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(journal, "require_bounded", lambda *_: None)
        with Journal.create(folder, datetime(2026, 3, 1, 12)) as made:
            for event in (BEGIN, *events):
                made.append(event)
    return made.path


@pytest.mark.parametrize(("events", "says"), TOO_MUCH.values(), ids=TOO_MUCH.keys())
def test_a_file_with_more_than_a_visit_may_hold_is_refused_at_once(
    events: list[Event], says: str, tmp_path: Path
) -> None:
    """Of a file of 2 MB with 8,000 repairs the pages took 5 GB, and history took 44 s from then on."""
    path = without_limits(tmp_path, events[: 1500 if events is TOLD else 900])
    before = path.read_bytes()
    for use in (read, Journal.reopen):
        with within(2), pytest.raises(VisitError, match=says):
            use(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(("events", "says"), TOO_MUCH.values(), ids=TOO_MUCH.keys())
def test_nobody_writes_more_than_is_read_again(events: list[Event], says: str, tmp_path: Path) -> None:
    with Journal.create(tmp_path, datetime(2026, 3, 1, 12)) as made, pytest.raises(VisitError, match=says):
        for event in (BEGIN, *events):
            made.append(event)
    assert read(made.path).damage == ""


def largest(events: list[Event]) -> list[Event]:
    """As many of them as are taken."""
    left, taken = {Repaired: MOST_REPAIRS, Reply: MOST_ANSWERS}, list[Event]()
    if events is STEPPED:
        return events[: MOST_ENTRIES - 1]  # the same answer again and again
    for event in events[: MOST_ENTRIES - 1]:
        if type(event) in left:
            if not left[type(event)]:
                break
            left[type(event)] -= 1
        taken.append(event)
    return taken


SECONDS, MEGABYTES = 3.0, 200  # of processor time on a machine that others use; start of the program included


@pytest.mark.parametrize(
    "events", [REPAIRED, FAILED, ANSWERED, STEPPED, TOLD], ids=["proved", "failed", "answers", "back", "notes"]
)
def test_the_largest_file_that_is_taken_is_soon_done_with(events: list[Event], tmp_path: Path) -> None:
    """Every command in a process of its own, as it costs the people who wait for it."""
    place = ("--visits", str(without_limits(tmp_path / "visits", largest(events)).parent))
    kept = ("--database", str(tmp_path / "h.db"))
    record = ("record", "--html", "-o", str(tmp_path / "out"))
    cost = {c[0]: costs(*c, *place) for c in (("show",), record, ("history", *kept), ("frequencies", *kept))}
    assert all(seconds < SECONDS and megabytes < MEGABYTES for seconds, megabytes in cost.values()), cost


def costs(*command: str) -> tuple[float, float]:
    """Seconds of processor time and the most megabytes that a command took."""
    with subprocess.Popen([sys.executable, "-m", "diagnose", *command], stdout=DEVNULL, stderr=DEVNULL) as process:
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, command
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def test_the_limits_are_said_where_they_stand() -> None:
    """And are the same in the offline page."""
    assert (limits.MAX_BYTES, MOST_ENTRIES, MOST_REPAIRS, MOST_ANSWERS) == (2_000_000, 1000, 10, 120)
    script = script_text()
    assert f"[MOST_REPAIRS, MOST_ANSWERS] = [{MOST_REPAIRS}, {MOST_ANSWERS}]" in script
    assert f"MOST_ENTRIES = {MOST_ENTRIES};" in script and f"LARGEST_FILE = {limits.MAX_BYTES};" in script
