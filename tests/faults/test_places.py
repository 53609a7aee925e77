"""Whole commands where nothing may be written, no room is left, the clock runs back, or somebody else is at it."""

import ctypes
import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from diagnose.model.visit import Setup
from diagnose.present.times import times_of
from diagnose.session.events import Begin, Event, Noted, Reply, TakeOver
from diagnose.store.journal import Journal, read
from diagnose.store.visits import find, listing
from tests.faults.kills import OPENING
from tests.faults.test_damage import HOLDER
from tests.shipped import knowledge

TYPED = "ghost_opening\n1\n1\n" + "\n" * 20
EVENTS: tuple[Event, ...] = (
    Begin(Setup(devices=("laser",)), "ghost_opening", "", "north gate", knowledge().digest, "one"),
    Reply("anyone_touched", "nobody"),
)
COMMANDS = (
    ("resume",), ("record", "--html", "-o", "{}/records"), ("handover", "-o", "{}/copy.visit"), ("history",),
    ("history", "--export", "{}/export"), ("frequencies", "--on"),
    ("profile", "site", "-o", "{}/p.yaml"), ("practice",),
    ("show",), ("list",), OPENING,
)  # fmt: skip
WRITING = (("resume",), ("record", "--html", "-o", "{}/records"), ("frequencies", "--on"), OPENING)
Done = subprocess.CompletedProcess[str]
Run = Callable[..., Done]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """The program in a process of its own; never a traceback. `home`: of its data, and of its cache if `cold`."""

    def call(*arguments: str, typed: str = TYPED, home: Path = tmp_path, cold: bool = False, **more: Any) -> Done:
        environment = os.environ | {"XDG_DATA_HOME": str(home / "data")}
        environment |= {"XDG_CACHE_HOME": str(home / "cache")} if cold else {}
        streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "env": environment, "timeout": 60, **more}
        command = [sys.executable, "-m", "diagnose", *arguments]
        done = subprocess.run(command, input=typed.encode(), check=False, **streams)
        out, err = ((text or b"").decode(errors="replace") for text in (done.stdout, done.stderr))
        assert "Traceback" not in out + err, err
        assert "Exception ignored" not in err, err
        return subprocess.CompletedProcess(command, done.returncode, out, err)

    return call


def visit_in(folder: Path) -> Path:
    with Journal.create(folder, datetime(2026, 3, 1, 12)) as journal:
        for event in EVENTS:
            journal.append(event)
    return journal.path


def every_command(run: Run, visit: Path, place: Path, commands: Sequence[tuple[str, ...]], **more: Any) -> None:
    """Each command with everything it writes in `place`: the visit keeps what it had. The last starts without a cache
    of the knowledge, and can keep none; the others would only read the same files again."""
    for command in commands:
        told = [part.format(place) for part in command]
        done = run(*told, "--visits", str(visit.parent), home=place, cold=command == commands[-1], **more)
        assert done.returncode in (0, 2), (command, done)
        assert done.returncode == 0 or done.stderr.startswith("diagnose: "), (command, done)
        assert read(visit).events[: len(EVENTS)] == EVENTS
        assert read(visit).damage == ""


def mounted(folder: Path, *options: str) -> None:
    if (
        os.geteuid() != 0
        or subprocess.run(["mount", *options, str(folder)], capture_output=True, check=False).returncode
    ):
        pytest.skip("needs the right to mount a small disk")


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted(folder, "-t", "tmpfs", "-o", "size=64k", "tmpfs")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_on_a_full_disk_no_command_ends_in_a_traceback_or_spoils_a_visit(run: Run, disk: Path) -> None:
    visit = visit_in(disk / "visits")
    with (disk / "filler").open("wb", buffering=0) as filler, pytest.raises(OSError, match="No space"):
        while True:
            filler.write(b"x" * 4096)
    every_command(run, visit, disk, COMMANDS)


def test_on_a_read_only_disk_no_command_ends_in_a_traceback_or_spoils_a_visit(run: Run, disk: Path) -> None:
    visit = visit_in(disk / "visits")
    mounted(disk, "-o", "remount,ro")
    every_command(run, visit, disk, WRITING)


def test_without_permission_no_command_ends_in_a_traceback_or_spoils_a_visit(run: Run, tmp_path: Path) -> None:
    visit = visit_in(tmp_path / "visits")
    for path, mode in ((visit, 0o444), (visit.parent, 0o555), (tmp_path, 0o555)):
        path.chmod(mode)
    every_command(run, visit, tmp_path, WRITING, preexec_fn=obey_permissions)
    tmp_path.chmod(0o755)


def obey_permissions() -> None:
    """Permissions stop every user but one; here they stop that one too."""
    for capability in (1, 2):  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH of linux/capability.h; 24: PR_CAPBSET_DROP
        ctypes.CDLL(None).prctl(24, capability, 0, 0, 0)


@pytest.mark.parametrize(
    "command", [("check-knowledge",), ("list",), ("paths",), OPENING, ("resume",), ("show", "--json")]
)
def test_output_that_cannot_be_written_is_told_and_loses_no_answer(
    run: Run, tmp_path: Path, command: tuple[str, ...]
) -> None:
    visit = visit_in(tmp_path / "visits")
    with Path("/dev/full").open("wb") as full:
        done = run(*command, "--visits", str(visit.parent), stdout=full)
    assert (done.returncode, done.stderr) == (2, "diagnose: No space left on device: what is printed\n")
    assert read(visit).events == EVENTS


def test_a_second_window_on_a_visit_is_told_and_writes_nothing(run: Run, tmp_path: Path) -> None:
    visit = visit_in(tmp_path / "visits")
    before = visit.read_bytes()
    with subprocess.Popen([sys.executable, "-c", HOLDER, str(visit)], stdout=subprocess.PIPE) as holder:
        try:
            assert holder.stdout and holder.stdout.readline() == b"held\n"
            done = run("resume", "--visits", str(visit.parent))
            assert done.returncode == 2
            assert "is open in another window; close that one first" in done.stderr
            assert "Has any of this happened" in run("show", "--visits", str(visit.parent)).stdout
            assert run("handover", "--visits", str(visit.parent), "-o", str(tmp_path / "c.visit")).returncode == 0
        finally:
            holder.kill()
    assert visit.read_bytes() == (tmp_path / "c.visit").read_bytes() == before
    assert run("resume", "--visits", str(visit.parent)).returncode == 0


def test_many_windows_at_once_each_keep_their_own_visit(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "diagnose", *OPENING, "--visits", str(tmp_path / "visits")]
    pipe = subprocess.PIPE
    windows = [subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=subprocess.STDOUT) for _ in range(4)]
    told = [w.communicate(TYPED.encode(), timeout=120)[0].decode() for w in windows]
    assert all("Visit: " in text and "Traceback" not in text for text in told)
    names = {text.rpartition("Visit: ")[2].strip() for text in told}
    assert names == {v.name for v in listing(tmp_path / "visits")}
    assert len(names) == 4
    assert all(v.answers == 2 for v in listing(tmp_path / "visits"))


def test_a_hand_over_that_finds_no_room_leaves_the_earlier_copy_whole(run: Run, tmp_path: Path, disk: Path) -> None:
    """It was overwritten in place: a full stick lost the copy that was on it."""
    visit = visit_in(tmp_path / "visits")
    copy = disk / visit.name
    copy.write_bytes(visit.read_bytes())
    with Journal.reopen(visit)[0] as journal:
        for _ in range(150):
            journal.append(Noted("y" * 400, "remark"))
    before = copy.read_bytes()
    done = run("handover", "--visits", str(visit.parent), "-o", str(disk), "--force")
    assert (done.returncode, copy.read_bytes()) == (2, before)
    assert "No space left on device" in done.stderr
    assert list(disk.iterdir()) == [copy]
    done = run("handover", "--visits", str(visit.parent), "-o", str(visit))
    assert (done.returncode, "is the visit itself" in done.stderr) == (2, True)


def test_a_clock_that_runs_back_changes_no_answer_and_no_order(tmp_path: Path) -> None:
    with Journal.create(tmp_path, datetime(2026, 3, 1)) as journal:
        for year, event in zip((2026, 2025, 1970), (*EVENTS, Reply("anyone_touched", "somebody")), strict=True):
            journal.append(event, datetime(year, 1, 1, tzinfo=UTC))
    found = read(journal.path)
    assert found.damage == ""
    assert [at[:4] for at in found.times] == ["2026", "2025", "1970"]
    assert found.events[-1] == Reply("anyone_touched", "somebody")
    later = Journal.create(tmp_path, datetime(2020, 1, 1))  # a visit begun after the clock was set back
    later.append(EVENTS[0])
    later.close()
    assert {v.name for v in listing(tmp_path)} == {journal.path.stem, later.path.stem}
    assert find(tmp_path, "2020") == later.path


@pytest.mark.parametrize("year", [2020, 2030])
def test_a_visit_taken_over_on_a_machine_with_another_clock_keeps_its_own_times(
    run: Run, tmp_path: Path, year: int
) -> None:
    """Taking over stamped the whole call with the moment of taking over."""
    with Journal.create(tmp_path / "call", datetime(2026, 3, 1)) as journal:
        for event in EVENTS:
            journal.append(event, datetime(year, 1, 2, 3, 4, 5, tzinfo=UTC))
    place = ("--visits", str(tmp_path / "van"))
    assert run("takeover", str(journal.path), "--by", "van 2", *place, typed="leave\n").returncode == 0
    found = read(find(tmp_path / "van", "last"))
    assert found.events[: len(EVENTS)] == EVENTS
    assert isinstance(found.events[-1], TakeOver)
    assert found.times[:2] == (f"{year}-01-02T03:04:05+00:00",) * 2
    assert found.times[2] != found.times[0]
    assert times_of(found.events, found.times, UTC).began == f"{year}-01-02 03:04 (UTC+00:00)"
    assert run("history", *place, "--database", str(tmp_path / "h.db")).returncode == 0
