"""A target is reached only by its figure; the page and the screen say the same."""

import io
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import TypeVar

import pytest
from markupsafe import escape

from diagnose.measure.collect import Measured, WantedFigures, collect
from diagnose.measure.small import Excess
from diagnose.measure.targets import aims, lost_first
from diagnose.measure.words import condition_says
from diagnose.model.visit import Setup
from diagnose.report.measure_page import page
from diagnose.terminal.measured import draw_measured
from diagnose.terminal.screen import Screen
from tests.measure.test_runs import made
from tests.measure.test_worth import visit

Item = TypeVar("Item")


def untracked(_says: str, _many: int, work: Iterator[Item], /) -> Iterator[Item]:
    return work


@cache
def measured() -> Measured:
    """A whole small run, with everything it can do."""
    wanted = WantedFigures(Setup(), cases=20, robustness=True, without=2, corners=0, stated=50)
    found = collect(made(), wanted, untracked)
    return replace(found, excesses={"tool": Excess(0.03, 0.05, 0.2, 7), "minutes_only": Excess(0.01, 0.05, 0.1, 7)})


def test_reached_or_not_by_the_figure() -> None:
    t8 = [(a.says, a.reached) for a in aims(measured()) if a.target == "T8"]
    assert [reached for says, reached in t8 if says.startswith("tool, minutes only")] == [True, True, True]
    assert [reached for says, reached in t8 if says.startswith("tool: ")] == [False, True, False]


def test_calibration_needs_enough_visits() -> None:
    (error,) = (a for a in aims(measured()) if a.says == "whole visits: expected calibration error")
    assert not error.reached and "20 cases" in error.measured


def test_every_target_of_a_full_run_is_judged_in_order() -> None:
    numbers = [int(a.target[1:]) for a in aims(measured())]
    assert set(numbers) == {8, 9, 10, 11, 12, 13, 14, 18} and numbers == sorted(numbers)


def test_points_lost_are_counted_over_the_same_faults() -> None:
    written = [visit("c0", "c0"), visit("c1", "c1"), visit("c0", "c0"), visit("c1", "c0")]
    worse = [visit("c0", "c0"), visit("c1", "c0"), visit("c0", "c1"), visit("c1", "c1")]
    assert lost_first(written, worse).value == pytest.approx(0.25)


def test_screen_and_page_carry_every_figure() -> None:
    out = io.StringIO()
    draw_measured(Screen(out, 80), measured())
    screen, text = " ".join(out.getvalue().split()), page(measured()).decode()
    for aim in aims(measured()):
        assert f"{aim.says}: {aim.measured}" in screen
        assert str(escape(aim.measured)) in text
    for name in measured().conditions:
        assert condition_says(name) in screen and condition_says(name) in text
    assert text.count("NOT REACHED</td>") == sum(not a.reached for a in aims(measured()))


def test_the_page_stands_alone_and_its_plots_are_whole() -> None:
    text = page(measured()).decode()
    assert not re.search(r"<script|<link|@import|url\(|src=|href=|https?://", text)
    plots = re.findall(r"<svg.*?</svg>", text, re.S)
    assert len(plots) == 4
    for plot in plots:
        assert "nan" not in plot
        ElementTree.fromstring(plot)


def test_hostile_words_stay_words() -> None:
    kb = made()
    hostile = {c: replace(one, says="<script>alert(1)</script>\x1b[2J") for c, one in kb.causes.items()}
    text = page(replace(measured(), kb=replace(kb, causes=hostile))).decode()
    assert "<script" not in text and "\x1b" not in text and "&lt;script&gt;" in text


def test_a_short_run_leaves_out_what_it_did_not_do() -> None:
    short = collect(made(), WantedFigures(Setup(), 3, policies=("tool",), corners=0), untracked)
    text = page(short).decode()
    assert "Wrong knowledge" not in text and "exact optimum" not in text
    assert {a.target for a in aims(short)} == {"T10", "T12"}
