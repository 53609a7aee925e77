"""`diagnose simulate` as it is run: the screen, the page, and wrong use."""

import argparse
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.simulate import run as measure_visits
from diagnose.errors import DiagnoseError, VisitError


def given(**more: Any) -> argparse.Namespace:
    usual = {"cases": 2, "seed": 1, "processes": 1, "sensors": "laser", "alone": True, "robustness": False}
    usual |= {
        "without_checks": 0,
        "small": 1,
        "html": None,
        "knowledge": "",
        "width": 80,
        "plain": True,
        "force": False,
    }
    return argparse.Namespace(**{**usual, **more})


def test_it_runs_and_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "page.html"
    assert measure_visits(given(html=page)) == 0
    shown = capsys.readouterr().out
    for heading in ("tool", "Over the exact optimum, on 1 small problems", "Targets", "Most confused"):
        assert heading in shown
    assert page.read_text("utf-8").startswith("<!doctype html>")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"cases": 0}, "--cases must be at least 1"),
        ({"processes": 0}, "--processes must be at least 1"),
        ({"without_checks": -1}, "--without-checks must be at least 0"),
        ({"sensors": "sonar"}, "unknown sensor kind 'sonar'"),
        ({"html": Path("no/such/folder/page.html")}, "there is no folder"),
    ],
)
def test_wrong_use_is_refused_before_anything_is_simulated(wrong: dict[str, Any], says: str) -> None:
    with pytest.raises(DiagnoseError, match=says):
        measure_visits(given(**wrong))


def test_a_page_that_cannot_be_written_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(VisitError, match="cannot write"):
        measure_visits(given(cases=1, small=0, html=tmp_path))
    assert "Targets" in capsys.readouterr().out
