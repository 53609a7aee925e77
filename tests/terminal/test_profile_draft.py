"""What was typed for a profile is on disk at once: a window that is closed loses nothing."""

import argparse
import io
from pathlib import Path

import pytest

from diagnose.cli import profile
from tests.faults.test_crash_points import dying_at, forked, watched

LINES = ("the north gate", *[""] * 60)


def made(target: Path) -> int:
    return profile.run(argparse.Namespace(kind="site", output=str(target), force=False, plain=True, width=80))


def test_a_profile_that_dies_before_any_step_goes_on_where_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing of it was left, however much had been typed."""
    whole = tmp_path / "whole.yaml"
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(LINES) + "\n"))
    assert made(whole) == 0
    assert list(tmp_path.iterdir()) == [whole]
    kept = 0
    for step in (3, 9, 20, 40):
        target = tmp_path / f"{step}.yaml"

        def work(target: Path = target, step: int = step) -> None:
            with watched(monkeypatch, dying_at(step)):
                made(target)

        monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(LINES) + "\n"))
        assert forked(work) == 9 and not target.exists()
        drafts = list(tmp_path.glob(".*.draft"))
        kept += len(drafts)
        capsys.readouterr()
        monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(LINES[1:] if drafts else LINES) + "\n"))
        assert made(target) == 0
        assert ("is kept" in capsys.readouterr().out) == bool(drafts)
        assert target.read_text("utf-8") == whole.read_text("utf-8")
        assert not list(tmp_path.glob(".*.draft"))
    assert kept >= 2


def test_whoever_leaves_a_profile_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("the north gate\n"))
    assert made(tmp_path / "x.yaml") == 2
    assert not list(tmp_path.iterdir())
