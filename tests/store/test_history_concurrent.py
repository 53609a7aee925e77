"""Several programs at one history: nothing is lost, nothing doubled, nothing half there."""

import multiprocessing
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import func, select

from diagnose.errors import VisitError
from diagnose.store.history import migrations, place, rows, tables
from diagnose.store.history.history import History
from tests.store.writers import CONTESTED, at, contested, record, write_many

WRITERS, EACH = 8, 250
ROOT = Path(__file__).parents[2]


def run_writers(url: str, number: int) -> None:
    spawn = multiprocessing.get_context("spawn")
    together = spawn.Barrier(WRITERS)  # they meet at the empty database
    workers = [spawn.Process(target=write_many, args=(url, w, number, together)) for w in range(WRITERS)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert [worker.exitcode for worker in workers] == [0] * WRITERS


def test_eight_writers_lose_and_double_nothing(url: str) -> None:
    run_writers(url, EACH)
    with History(url) as history:
        kept = history.search(limit=10_000)
    ids = [r.id for r in kept]
    assert len(ids) == len(set(ids)) == WRITERS * EACH + CONTESTED
    by_id = {r.id: r for r in kept}
    for writer in range(WRITERS):
        for n in range(EACH):
            assert by_id[f"{writer}-{n}"] == record(f"{writer}-{n}", n)
    for n in range(CONTESTED):
        assert by_id[f"both-{n}"] == contested(n, WRITERS - 1)  # whole, and the version that changed last


def test_each_migration_ran_once_though_eight_started_at_the_same_time(url: str) -> None:
    run_writers(url, 1)
    engine = place.open_engine(place.history_url(url))
    with engine.connect() as connection:
        numbers = connection.execute(select(tables.migrations.c.number)).scalars().all()
        visits = connection.execute(select(func.count()).select_from(tables.visits)).scalar()
    engine.dispose()
    assert sorted(numbers) == list(range(1, len(migrations.STEPS) + 1))
    assert visits == WRITERS + 1


@pytest.mark.parametrize("after_s", [0.05, 0.4])
def test_kill_9_in_the_middle_of_writes_loses_nothing_committed(url: str, after_s: float) -> None:
    command = [sys.executable, "-m", "tests.store.writers", url]
    with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT) as writer:
        assert writer.stdout
        first = writer.stdout.readline()
        time.sleep(after_s)
        writer.send_signal(signal.SIGKILL)
        said = (first + writer.stdout.read()).decode().splitlines(keepends=True)
    saved = [line.strip() for line in said if line.endswith("\n")]
    with History(url) as history:
        kept = {r.id: r for r in history.search(limit=100_000)}
        assert history.save(record("afterwards"))
    assert saved
    assert set(saved) <= set(kept)
    assert len(kept) <= len(saved) + 1  # the one that was being said
    for name, found in kept.items():
        assert found == record(name, int(name.removeprefix("visit-")) % 1000)


def test_a_reader_sees_the_visit_as_before_while_a_writer_is_in_the_middle(url: str) -> None:
    old, new = record("v", answers=record("v").answers[:1]), record("v", changed="2030-01-01T00:00:00+00:00")
    with History(url) as history, History(url) as other:
        history.save(old)
        with history.writing() as connection:
            connection.execute(tables.answers.delete())
            connection.execute(tables.visits.update().values(words="half way"))
            assert other.get("v") == old
            connection.rollback()
        history.save(new)
        assert other.get("v") == new


def test_one_answer_is_of_one_moment_though_it_takes_several_queries(url: str) -> None:
    """The visits are read first, what hangs on them later; a writer comes in between."""
    old, new = record("v"), record("v", changed=at(9000), words="newer", answers=())
    with History(url) as history, History(url) as other:
        history.save(old)
        with other.reading() as connection:
            assert len(connection.execute(select(tables.visits)).all()) == 1
            history.save(new)
            assert tuple(rows.records(connection, select(tables.visits))) == (old,)
        assert other.get("v") == new


def test_a_first_start_waits_for_another_one(tmp_path: Path) -> None:
    """SQLite answers 'locked' at once when it is to write ahead while another process is making the file."""
    path = tmp_path / "history.db"
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("CREATE TABLE something (x)")
    other.execute("BEGIN IMMEDIATE")
    later = threading.Timer(0.3, other.execute, ["COMMIT"])
    later.start()
    with History(str(path)) as history:
        assert history.save(record("v"))
    later.join()
    other.close()


def test_an_older_version_never_takes_the_place_of_a_newer_one(url: str) -> None:
    new = record("v", words="newer")
    old = replace(record("v", answers=(), outcome=None), changed="2026-03-01T12:00:01+00:00")
    with History(url) as history:
        assert history.save(new)
        assert not history.save(old)
        assert history.get("v") == new


def test_a_history_kept_busy_is_said_to_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(place, "WAIT_S", 0.1)
    path = tmp_path / "history.db"
    with History(str(path)) as history:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(VisitError, match=r"another program kept it busy for too long"):
            history.save(record("v"))
        other.execute("ROLLBACK")
        other.close()
        assert history.save(record("v"))
