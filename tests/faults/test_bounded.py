"""Well-formed visit files made to exhaust: refused with the limit.

What the largest that is taken costs: `python -m tests.bench.largest`.
"""

from datetime import datetime
from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.session.events import Event
from diagnose.store import limits
from diagnose.store.journal import Journal, read
from tests.faults.bombs import ANSWERED, BEGIN, FAILED, REPAIRED, TOLD, without_limits
from tests.faults.limits import within

TOO_MUCH = {
    "repairs proved": (REPAIRED, "at most 10 repairs; end it and begin a new one"),
    "repairs failed": (FAILED, "at most 10 repairs; end it and begin a new one"),
    "answers": (ANSWERED, "at most 200 answers; end it and begin a new one"),
    "notes": (TOLD, "at most 1,000 entries; begin a new one"),
}


@pytest.fixture(autouse=True)
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.fsync", lambda _: None)


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


def test_the_limits_are_said_where_they_stand() -> None:
    assert (limits.MAX_BYTES, limits.MOST_ENTRIES, *limits.MOST_OF.values()) == (2_000_000, 1000, 10, 200)
