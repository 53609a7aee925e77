"""kill -9 at random instants of real visits: every acknowledged answer is there, and the visit goes on."""

import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.faults.kills import Killed, OnTerminal, Piped, Program
from tests.faults.paged import Paged

FRONT_ENDS: dict[str, Callable[[], Program]] = {"pipe": Piped, "terminal": OnTerminal, "page": Paged}
FULL = {"pipe": 250, "terminal": 100, "page": 150}


def killed(kind: str, folder: Path, kills: int, seed: int) -> Killed:
    if kind == "page":
        pytest.importorskip("uvicorn")
    folder.mkdir()
    run = Killed(FRONT_ENDS[kind](), folder, random.Random(seed))
    while run.kills < kills or run.acknowledged < kills:
        run.one_more()
    return run


@pytest.mark.parametrize("kind", FRONT_ENDS)
def test_a_few_kills(kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert killed(kind, tmp_path / "visits", 4, seed=8).acknowledged >= 4


@pytest.mark.long
@pytest.mark.parametrize("kind", FRONT_ENDS)
def test_500_kills(kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    began = time.monotonic()
    run = killed(kind, tmp_path / "visits", FULL[kind], seed=500)
    visits = len(list(run.folder.glob("*.visit")))
    print(f"\n{kind}: {run.kills} kills, {run.answers} answers, {visits} visits, {time.monotonic() - began:.0f} s")
