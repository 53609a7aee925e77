"""Clocks that are set, other zones, the hour that comes twice: the last visit is the one that was worked on last."""

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from diagnose.model.visit import Setup
from diagnose.present.times import in_words, times_in
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import salvage
from diagnose.session.visit_record import visit_record
from diagnose.store import clock, journal
from diagnose.store.history.history import History
from diagnose.store.journal import Journal, read
from diagnose.store.touched import MOST, NAME, noted
from diagnose.store.visits import at_site, find, listing
from tests.shipped import knowledge

BEGIN = Begin(Setup(), "stuck_open", site="north gate", id="one")
NOON = datetime(2026, 10, 24, 12, tzinfo=UTC)
NOBODY, SAFE = Reply("anyone_touched", "nobody"), Reply("gate_made_safe", "safe")


def begun(folder: Path, local: datetime) -> Path:
    """A visit that begins when the clock on the wall says so."""
    with Journal.create(folder, local.replace(tzinfo=None)) as made:
        made.append(BEGIN, local)
        return made.path


def worked_on(path: Path, at: datetime | None = None) -> None:
    opened, _ = Journal.reopen(path)
    with opened:
        opened.append(NOBODY, at)


CASES = {
    "the autumn hour": [datetime(2026, 10, 25, 0, 50, tzinfo=UTC), datetime(2026, 10, 25, 1, 10, tzinfo=UTC)],
    "the clock was a year ahead": [NOON + timedelta(days=365), NOON],
    "the clock was set back an hour": [NOON, NOON - timedelta(hours=1)],
}


@pytest.mark.parametrize("moments", CASES.values(), ids=CASES.keys())
def test_the_last_visit_is_the_one_that_began_last_whatever_the_clock_says(
    moments: list[datetime], tmp_path: Path
) -> None:
    """It was the one with the highest local time in its name."""
    first, second = (begun(tmp_path, m.astimezone(ZoneInfo("Europe/Berlin"))) for m in moments)
    assert find(tmp_path, "last") == second
    assert [v.name for v in listing(tmp_path)] == [second.stem, first.stem]
    assert [v.name for v in at_site(tmp_path, "North  Gate")] == [second.stem, first.stem]
    worked_on(first)
    assert find(tmp_path, "last") == first
    assert [v.name for v in listing(tmp_path)] == [first.stem, second.stem]


def test_flying_west_leaves_the_last_visit_the_last(tmp_path: Path) -> None:
    east = begun(tmp_path, NOON.astimezone(ZoneInfo("Asia/Tokyo")))
    west = begun(tmp_path, (NOON + timedelta(hours=2)).astimezone(ZoneInfo("America/Los_Angeles")))
    assert west.stem < east.stem
    assert find(tmp_path, "last") == west


def test_visits_from_before_this_was_noted_stand_by_the_time_in_their_names(tmp_path: Path) -> None:
    paths = [begun(tmp_path, NOON + timedelta(days=n)) for n in range(3)]
    (tmp_path / NAME).unlink()
    assert find(tmp_path, "last") == paths[2]
    worked_on(paths[0])
    assert [v.name for v in listing(tmp_path)] == [paths[0].stem, paths[2].stem, paths[1].stem]


def test_the_note_of_what_was_touched_last_is_only_a_note(tmp_path: Path) -> None:
    """A spoilt, endless or foreign one hides no visit, and none is waited for."""
    path = begun(tmp_path, NOON)
    log = tmp_path / NAME
    for rubbish in (b"\xff\xfe\n\n\0", b"x\n" * MOST, b"../../etc/passwd\n"):
        log.write_bytes(rubbish)
        worked_on(path)
        assert find(tmp_path, "last") == path
        assert path.stem in dict(noted(tmp_path))
    log.unlink()
    os.mkfifo(log)
    worked_on(path)
    assert find(tmp_path, "last") == path


def test_one_line_is_noted_for_each_change_of_visit(tmp_path: Path) -> None:
    first, second = begun(tmp_path, NOON), begun(tmp_path, NOON + timedelta(days=1))
    for _ in range(3):
        worked_on(second)
    worked_on(first)
    assert [name for name, _ in noted(tmp_path)] == [first.stem, second.stem, first.stem]


# --- what a record says of it ------------------------------------------------------------------------------------


def told(path: Path) -> tuple[str, ...]:
    return times_in(read(path), path.name, UTC).jumps


def test_a_record_says_that_the_clock_was_set_back(tmp_path: Path) -> None:
    """It ended before it began, and nothing was said of it."""
    path = begun(tmp_path, NOON)
    worked_on(path, NOON - timedelta(hours=3))
    (says,) = told(path)
    was, now = in_words(NOON.isoformat(), UTC), in_words((NOON - timedelta(hours=3)).isoformat(), UTC)
    assert says == f"The clock was set back by 3 hours: it said {was}, and then {now}."


@pytest.fixture
def clocks(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, float]]:
    """The clock on the wall and the one that nobody sets, to be turned."""
    now = {"wall": 0.0, "up": 1000.0}

    class Wall(datetime):
        @classmethod
        def now(cls, tz: object = None) -> "Wall":
            assert tz is UTC
            return cls.fromtimestamp(NOON.timestamp() + now["wall"], UTC)

    monkeypatch.setattr(journal, "datetime", Wall)
    monkeypatch.setattr(clock, "_boot", lambda: "abcd1234")
    monkeypatch.setattr(time, "clock_gettime", lambda _: now["up"])
    yield now


@pytest.mark.parametrize(
    ("wall", "up", "says"),
    [
        (600, 600, ""),
        (86_400 * 3, 86_400 * 3, ""),  # asleep, or left on over the weekend
        (7200 + 60, 60, "The clock was set ahead by 2 hours"),
        (-1800, 60, "The clock was set back by 31 minutes"),
        (60, 3600 * 5, "The clock was set back by 5 hours"),  # it was set while the visit rested
        (60 + 90, 60, ""),  # put right by a minute and a half
    ],
)
def test_a_clock_that_was_set_is_told_from_a_rest(
    tmp_path: Path, clocks: dict[str, float], wall: float, up: float, says: str
) -> None:
    events: tuple[Event, ...] = (BEGIN, NOBODY)
    with Journal.create(tmp_path, NOON.replace(tzinfo=None)) as made:
        for event in events:
            made.append(event)
            clocks["wall"] += wall
            clocks["up"] += up
    found = told(made.path)
    assert (found[0].partition(":")[0] if found else "") == says


def test_the_other_clock_is_not_asked_across_a_start_of_the_machine(
    tmp_path: Path, clocks: dict[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.create(tmp_path, NOON.replace(tzinfo=None)) as made:
        made.append(BEGIN)
        monkeypatch.setattr(clock, "_boot", lambda: "99999999")
        clocks["wall"] += 9000
        clocks["up"] = 5.0
        made.append(NOBODY)
    assert told(made.path) == ()


def test_a_visit_that_began_with_the_clock_ahead_does_not_stay_stale_in_the_history(tmp_path: Path) -> None:
    """Its first version 'changed later' than every one after the clock was put right."""
    path = begun(tmp_path, NOON + timedelta(days=365))
    with History(str(tmp_path / "h.db")) as history:
        for event in (NOBODY, SAFE):
            found = read(path)
            session, _ = salvage(knowledge(), found.events)
            assert history.save(visit_record(path.stem, session, found.times, entries=found.last))
            opened, _ = Journal.reopen(path)
            with opened:
                opened.append(event, NOON)
        found = read(path)
        session, _ = salvage(knowledge(), found.events)
        assert history.save(visit_record(path.stem, session, found.times, entries=found.last))
        kept = history.get("one")
        assert kept and [a.check for a in kept.answers] == ["anyone_touched", "gate_made_safe"]
        older = found.events[:2]
        session, _ = salvage(knowledge(), older)
        assert not history.save(visit_record(path.stem, session, found.times[:2], entries=2))
