"""`diagnose card` and a visit opened from a card's number, over a small knowledge folder."""

import argparse
import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diagnose.cards.grow import Grower
from diagnose.cards.numbers import number_of
from diagnose.cli.card import run as card
from diagnose.cli.from_card import run as from_card
from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.kb.cache import load_knowledge
from diagnose.model.visit import Setup
from tests.cards.made import followed
from tests.kb.minimal import FILES

Command = Callable[[argparse.Namespace], int]
Run = Callable[..., int]
GIVEN: dict[str, Any] = {
    "complaint": ["stuck"], "all": False, "sensors": "loop", "pages": 1, "paper": "a4", "html": False, "pdf": False,
    "electrician": False, "help_desk": False, "device": "", "site": "", "cases": 20, "seed": 1, "processes": 1,
    "plain": True, "width": 80, "from_card": "", "name": "", "force": False,
}  # fmt: skip


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = tmp_path / "knowledge"
    folder.mkdir()
    for name, text in FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, "utf-8")

    def call(command: Command = card, **changes: Any) -> int:
        places = {"knowledge": str(folder), "visits": str(tmp_path / "visits"), "output": str(tmp_path / "cards")}
        return command(argparse.Namespace(**{**GIVEN, **places, **changes}))

    return call


def test_writes_the_card_and_tells_it(run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(html=True, pdf=True) == 0
    assert (tmp_path / "cards/card_stuck_loop.pdf").read_bytes().startswith(b"%PDF")
    assert b"<!DOCTYPE html>" in (tmp_path / "cards/card_stuck_loop.html").read_bytes()
    told = capsys.readouterr().out
    assert "Field card: it is stuck" in told
    assert "Settles" in told
    assert "20 simulated visits" in " ".join(told.split())


def test_all_makes_one_for_each_complaint_and_kind(
    run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(complaint=[], all=True, sensors="", cases=0) == 0
    assert [p.name for p in (tmp_path / "cards").iterdir()] == ["card_stuck_loop.html"]
    assert "Field card" not in capsys.readouterr().out


def test_free_words_find_the_complaint(run: Run, tmp_path: Path) -> None:
    assert run(complaint=["it", "is", "stuck!"], cases=0) == 0
    assert (tmp_path / "cards/card_stuck_loop.html").exists()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"complaint": ["zzz"]}, "which complaint"),
        ({"complaint": []}, "which complaint|loop"),
        ({"sensors": ""}, "which sensor kind"),
        ({"sensors": "sonar"}, "unknown sensor kind"),
        ({"cases": -1}, "--cases"),
        ({"device": "no_such"}, "cannot read the profile"),
    ],
)
def test_wrong_use_is_explained(run: Run, changes: dict[str, Any], says: str) -> None:
    if changes == {"complaint": []}:
        assert run(**changes, cases=0) == 0  # only one complaint exists, so that one is meant
        return
    with pytest.raises(DiagnoseError, match=says):
        run(**changes)


def test_folder_that_cannot_be_written(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(VisitError, match="choose another place"):
        run(output=str(tmp_path / "file"), cases=0)


def test_pdf_without_its_package_says_what_to_install(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "reportlab", None)
    for name in [n for n in sys.modules if n.startswith(("reportlab.", "diagnose.report.card_pdf_pages"))]:
        monkeypatch.delitem(sys.modules, name)
    with pytest.raises(VisitError, match=r"gate-diagnose\[pdf\]"):
        run(pdf=True, cases=0)


def test_number_on_the_card_opens_the_visit_there(
    run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    kb = load_knowledge(tmp_path / "knowledge")
    grower = Grower(Reasoner(kb), Setup(devices=("loop",)), "stuck")
    root = grower.root()
    number = number_of(grower, followed(grower, root), root)
    monkeypatch.setattr(sys, "stdin", io.StringIO("leave\n"))
    run(from_card, from_card=number, sensors=None)
    told = capsys.readouterr().out
    assert "1. Is it safe? - yes" in told
    assert "2. Is the lamp lit?" in told
    assert len(list((tmp_path / "visits").glob("*.visit"))) == 1


def test_wrong_number_is_explained(run: Run) -> None:
    with pytest.raises(DiagnoseError, match="no number of a field card"):
        run(from_card, from_card="ABCD-EFG", sensors=None)
