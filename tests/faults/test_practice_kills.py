"""Practice is written down like a visit: a process that dies anywhere loses no move, and no exercise counts twice."""

import io
import json
import os
import sys
from functools import cache
from pathlib import Path

import pytest

from diagnose.cli import practice
from diagnose.errors import VisitError
from diagnose.practice import exercise_file, progress_file
from diagnose.practice.debrief import Debrief, debrief
from diagnose.practice.entries import Counted, Drawn, ExerciseFile
from diagnose.practice.exercise import Exercise, begin, made, replayed
from diagnose.practice.exercise_file import Keeping, Recording
from diagnose.practice.moves import CheckMove, FinishMove, Move, SuspectMove
from diagnose.practice.progress import WorkedExercise
from diagnose.session.events import Reply
from diagnose.store import limits
from diagnose.store.journal import read
from diagnose.web.exercises import ExerciseFolder
from tests.faults.test_crash_points import dying_at, forked, watched
from tests.practice.gates import drops, shipped
from tests.practice.test_exercise import DROPS
from tests.terminal.test_practice import CASES, SOLVE, args

WORKED = WorkedExercise(739000, 7, "first_steps", ("supply",), 90.0, 40.0, 35.0, 0.02, "solved", ())


def drawn() -> Drawn:
    return Drawn(exercise_file.recipe_of(drops(), shipped().kb.digest), "Ann", "first_steps")


def moves_in(path: Path) -> tuple[Move, ...]:
    found = ExerciseFile.found_in(path.read_bytes())
    return tuple(e for e in found.events if not isinstance(e, Drawn | Counted))


@cache
def ended() -> tuple[Exercise, Debrief]:
    moves = (*DROPS, FinishMove())
    return replayed(shipped(), drops(), moves), debrief(shipped(), drops(), moves)


def test_a_process_that_dies_before_any_step_of_writing_loses_no_move(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    step, code = 0, 9
    while code == 9:
        folder, (told, tell) = tmp_path / str(step), os.pipe()

        def work(folder: Path = folder, step: int = step, tell: int = tell) -> None:
            with watched(monkeypatch, dying_at(step)):
                keeping = Keeping(folder, drawn())
                for move in DROPS:
                    keeping.move(move)
                    os.write(tell, b".")

        code = forked(work)
        os.close(tell)
        with os.fdopen(told, "rb") as pipe:
            sure = len(pipe.read())
        moves: tuple[Move, ...] = ()
        for path in folder.glob("*.exercise"):
            moves = moves_in(path)
            assert moves, "an exercise without a move is a ghost"
            with exercise_file.reopened(path) as file:
                file.append(SuspectMove("it goes on"))
        assert sure <= len(moves) <= sure + 1
        assert moves == DROPS[: len(moves)]
        step += 67
    assert code == 0 and sure == len(DROPS) and step > 200


def test_an_exercise_that_was_cut_off_while_it_was_counted_counts_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    end, seen = ended()
    step, code = 0, 9
    while code == 9:
        folder = tmp_path / str(step)
        with exercise_file.begin_file(folder / "exercises", drawn(), *DROPS, FinishMove()) as file:
            path = file.path

        def work(folder: Path = folder, path: Path = path, step: int = step) -> None:
            with exercise_file.reopened(path) as file, watched(monkeypatch, dying_at(step)):
                exercise_file.count(folder, shipped().kb, drops(), end, seen, drawn(), file)

        code = forked(work)
        if not exercise_file.started(path.parent, path.stem).ended:
            assert exercise_file.unfinished(path.parent, "ann") == path
            with exercise_file.reopened(path) as file:
                exercise_file.count(folder, shipped().kb, drops(), end, seen, drawn(), file)
        assert len(progress_file.load(folder, "Ann")[0].worked) == 1
        (visit,) = (folder / "visits").glob("*.visit")
        assert read(visit).events == end.events
        assert sum(isinstance(e, Counted) for e in ExerciseFile.found_in(path.read_bytes()).events) == 1
        step += 7
    assert code == 0 and step > 50


def test_two_sessions_of_one_trainee_lose_nothing(tmp_path: Path) -> None:
    """Each read the progress when it began, and wrote all of it when it ended."""
    children = []
    for who in range(2):
        child = os.fork()
        if child == 0:
            for number in range(15):
                done = WorkedExercise(
                    **{**{n: getattr(WORKED, n) for n in WORKED.__slots__}, "name": f"{who} {number}"}
                )
                progress_file.add(tmp_path, "Ann", done)
            os._exit(0)
        children.append(child)
    assert [os.waitstatus_to_exitcode(os.waitpid(c, 0)[1]) for c in children] == [0, 0]
    assert len(progress_file.load(tmp_path, "Ann")[0].worked) == 30


@pytest.mark.parametrize("step", [6, 900])
def test_a_terminal_exercise_that_dies_is_gone_on_with(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], step: int
) -> None:
    """Nothing was written before its end, whatever had been done."""
    lines = ("gate_made_safe", *SOLVE, *["pass"] * 8)

    def work() -> None:
        sys.stdin = io.StringIO("\n".join(lines) + "\n")
        with watched(monkeypatch, dying_at(step)):
            practice.run(args(tmp_path, case=CASES / "good.yaml"))

    assert forked(work) == 9
    found = list((tmp_path / "exercises").glob("*.exercise"))
    assert bool(found) == (step > 6) and not (tmp_path / "visits").exists()
    monkeypatch.setattr("sys.stdin", io.StringIO("leave\n"))
    assert practice.run(args(tmp_path, case=CASES / "good.yaml")) == 0
    assert ("cut off" in capsys.readouterr().out) == bool(found)
    for path in found:
        before = exercise_file.load(shipped(), path).recording.moves
        monkeypatch.setattr("sys.stdin", io.StringIO("suspect drops\nclose\n"))
        assert practice.run(args(tmp_path, again=path)) == 0
        after = exercise_file.load(shipped(), path)
        assert after.counted and after.recording.moves[: len(before) + 1] == (*before, SuspectMove("drops"))
        assert len(progress_file.load(tmp_path, "Ann")[0].worked) == 1


def test_a_move_beyond_what_a_visit_may_hold_is_refused_at_once_and_the_exercise_still_ends(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It was refused when all was done, and the exercise was lost."""
    monkeypatch.setattr(limits, "MOST_OF", {Reply: 1})
    exercise = made(shipped(), begin(shipped(), drops()), CheckMove("anyone_touched"))
    with pytest.raises(VisitError, match="at most 1 answers"):
        made(shipped(), exercise, CheckMove("power_lamp"))
    assert made(shipped(), exercise, FinishMove()).ended == "left_out"


def test_a_damaged_exercise_keeps_every_move_that_is_whole_and_says_what_is_not(tmp_path: Path) -> None:
    with exercise_file.begin_file(tmp_path, drawn(), *DROPS) as file:
        pass
    lines = file.path.read_bytes().split(b"\n")
    lines[3] = lines[3].replace(b"hint", b"hinT")
    file.path.write_bytes(b"\n".join(lines))
    kept = exercise_file.load(shipped(), file.path)
    assert kept.recording.moves == (*DROPS[:2], *DROPS[3:])
    assert "line 4" in kept.says and file.path.read_bytes() == b"\n".join(lines)
    lines[0] = b""
    file.path.write_bytes(b"\n".join(lines))
    assert exercise_file.load(shipped(), file.path).recording.gate == drops()


def test_what_an_earlier_version_kept_for_the_pages_is_gone_on_with(tmp_path: Path) -> None:
    old = tmp_path / "exercises" / "20260101-101010-abc123.json"
    old.parent.mkdir()
    old.write_text(json.dumps(exercise_file.as_plain(Recording(drops(), DROPS[:2]), shipped().kb.digest)), "utf-8")
    note = {"trainee": "Ann", "lesson": "first_steps", "ended": False}
    old.with_suffix(".started").write_text(json.dumps(note), "utf-8")
    text = old.read_bytes()
    first, second = (ExerciseFolder(shipped(), tmp_path) for _ in range(2))
    assert [s.name for s in first.started()] == [old.stem] and second.open(old.stem).number == 2
    assert first.send(old.stem, 2, SuspectMove("drops")).number == 3
    assert second.send(old.stem, 3, SuspectMove("more")).number == 4  # another server sees what the first one wrote
    assert first.open(old.stem).recording.moves == (*DROPS[:2], SuspectMove("drops"), SuspectMove("more"))
    assert old.read_bytes() == text
