"""A process that dies at any instant while it attaches a picture: no answer is lost, no picture is told of without
its file, and the same picture can be attached again."""

import random
import time
from pathlib import Path

import pytest

from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Pictured, Reply
from diagnose.store.journal import Journal, read
from diagnose.store.photos import folder_of, keep, kept, name_of
from tests.faults.kills import Piped
from tests.faults.test_crash_points import NOON, dying_at, forked, visit_in, watched
from tests.store.pictured import picture

BEFORE: tuple[Event, ...] = (Begin(Setup(), "ghost_opening"), Reply("anyone_touched", "nobody"))
KILLS = 4
PICTURES = (picture(), picture(colour="red"))
EVENTS = tuple(Pictured(name_of(data), "answer", "anyone_touched") for data in PICTURES)


def attach(journal: Journal) -> None:
    """As every front end does it: the file, and only then the event."""
    for data, event in zip(PICTURES, EVENTS, strict=True):
        assert keep(journal.path, data) == event.name
        journal.append(event)


def whole(path: Path) -> list[Event]:
    """What the visit tells of pictures; each is there as it was given."""
    told = [event for event in read(path).events if isinstance(event, Pictured)]
    assert all(kept(path, event.name) == PICTURES[EVENTS.index(event)] for event in told)
    return list[Event](told)


def test_a_process_that_dies_before_any_step_of_a_picture_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    step, code, seen = 0, 9, set[tuple[int, int]]()
    while code == 9:
        folder = tmp_path / str(step)
        with Journal.create(folder, NOON) as journal:
            for event in BEFORE:
                journal.append(event)
        path = visit_in(folder)

        def work(path: Path = path, step: int = step) -> None:
            with watched(monkeypatch, dying_at(step)), Journal.reopen(path)[0] as journal:
                attach(journal)

        code = forked(work)
        again, found = Journal.reopen(path)
        with again:
            assert found.events[:2] == BEFORE
            seen.add((len(whole(path)), len(list(folder_of(path).glob("[!.]*.jpg")))))
            attach(again)  # whatever was left over, it can be done again
        assert whole(path)[-2:] == [*EVENTS]
        step += 1
    assert (code, seen) == (0, {(0, 0), (0, 1), (1, 1), (1, 2), (2, 2)})


def test_a_terminal_that_is_killed_at_any_moment_of_a_picture_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """kill -9 of the real program, from before the line is read to after it was answered."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    chance, sure = random.Random(11), list(BEFORE)
    with Journal.create(tmp_path / "visits", NOON) as journal:
        for event in BEFORE:
            journal.append(event)
    for number in range(KILLS):
        (tmp_path / f"{number}.jpg").write_bytes(picture((1200, 900), colour=f"hsl({40 * number},80%,50%)"))
        program = Piped()
        program.start(tmp_path / "visits", resume=True)
        assert program.acknowledged()
        program.send(f"picture {tmp_path / f'{number}.jpg'}")
        if number == KILLS - 1:
            assert program.acknowledged() and "Kept as" in program.output
        time.sleep(chance.uniform(0.0, 0.3))
        program.kill()
        found = read(journal.path)
        assert not found.damage and list(found.events[: len(sure)]) == sure and len(found.events) <= len(sure) + 1
        told = [event for event in found.events if isinstance(event, Pictured)]
        assert all(kept(journal.path, event.name) for event in told)
        sure = list(found.events)
    assert isinstance(sure[-1], Pictured)
