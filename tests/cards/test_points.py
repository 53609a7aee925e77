"""The points sheet: its arithmetic, the margin, the choice of looks, and its page."""

from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from diagnose.cards.card import Card
from diagnose.cards.grow import Grower
from diagnose.cards.margin import AddedUp, close_pairs, with_margin
from diagnose.cards.marks import MarkedCaution
from diagnose.cards.points import DecidingTest, PointsAnswer, PointsColumn, PointsLook, PointsSheet
from diagnose.cards.points_compose import PointsComposer
from diagnose.cards.telling import telling
from diagnose.cards.weigh import MOST_POINTS, Weighed, points, scale_of
from diagnose.core.posterior import prior
from diagnose.model.visit import Answer, Setup
from diagnose.report import card_html, card_pdf
from diagnose.report.card_back import back_fits
from diagnose.report.card_page import lay_out
from diagnose.report.card_text import outline
from tests import shipped
from tests.cards.made import small, small_grower
from tests.cards.test_paper import OVER

OTHER_CELLS = """() => [...document.querySelectorAll('td')].filter(c => c.scrollWidth > c.clientWidth + 1)
  .map(c => c.textContent.trim())"""


def weighed(**chances: list[list[float]]) -> Weighed:
    """Three causes, chances 0.5, 0.3, 0.2; for each finding P(state | cause), one row a cause."""
    tables = {f: np.array(rows) for f, rows in chances.items()}
    network = shipped.quick().network(("loop",))
    return Weighed(("a", "b", "c"), np.array([0.5, 0.3, 0.2]), tables, network, 1.0)


def test_points_are_those_worked_out_by_hand() -> None:
    """ln 0.9, 0.1, 0.3 less their mean: 1.099, -1.099, 0; ln 0.1, 0.9, 0.7: -1.381, 0.816, 0.565; the prior's:
    0.476, -0.035, -0.440. The largest, 1.381, becomes 9, so one is 6.516 points."""
    made = weighed(f=[[0.9, 0.1], [0.1, 0.9], [0.3, 0.7]])
    scale = scale_of(made, ["f"])
    assert scale == pytest.approx(6.516, abs=0.001)
    assert points(made.start(), scale) == (3, 0, -3)
    assert [points(s, scale) for s in made.scores("f").T] == [(7, -7, 0), (-9, 5, 4)]


def test_tempered_answers_count_less_than_the_start() -> None:
    made = replace(weighed(f=[[0.9, 0.1], [0.1, 0.9], [0.3, 0.7]]), temper=0.5)
    assert made.scores("f")[0, 0] == pytest.approx(np.log(3) / 2)
    assert made.start()[0] == pytest.approx(0.476, abs=0.001)


def test_a_sum_by_hand_is_the_log_odds_of_the_live_tool() -> None:
    """Every combination of answers of the small knowledge, against the exact posterior of single causes."""
    grower = small_grower(small())
    composer = PointsComposer(grower)
    sheet, scale = composer.sheet(cases=40), scale_of(composer.weighed, composer.chosen)
    causes = [c.cause for c in sheet.columns if c.cause]
    assert set(causes) == {"dirt", "wire", "arm"} and len(sheet.looks) == 4
    checks = [grower.kb.checks[look.check] for look in sheet.looks]
    for values in product(*(c.options for c in checks)):
        seen = {c.id: v for c, v in zip(checks, values, strict=True)}
        belief = grower.reasoner.conclude(Setup(), "stuck", [Answer(c, v) for c, v in seen.items()]).belief
        alone = belief.network.by_cause(belief.weights[0])
        exact = np.log([alone[belief.network.index(c)] for c in causes])
        summed = np.array(sheet.totals(seen)[: len(causes)]) / scale
        rounding = (len(checks) + 1) * 1.0 / scale  # half a point in each of two columns, for each look and the start
        assert np.abs((summed - summed[0]) - (exact - exact[0])).max() <= rounding


def test_chances_are_the_tables_with_slips() -> None:
    """The window with dirt: 1 - 0.1 x 0.95 (the leak) = 0.905; two answers in a hundred are wrong: 0.8888."""
    made = PointsComposer(small_grower(small())).weighed
    assert made.chances["window"][made.causes.index("dirt")] == pytest.approx([0.1112, 0.8888])


def test_the_last_column_stands_for_everything_else() -> None:
    grower = small_grower(small())
    made = PointsComposer(grower, columns=2).weighed
    alone = prior(grower.reasoner.network(()), "stuck").weights[0]
    assert len(made.causes) == 2 and len(made.prior) == 3
    assert made.prior[2] == pytest.approx(1.0 - sorted(alone / alone.sum())[-1] - sorted(alone / alone.sum())[-2])


def sheet_of(margin: int) -> PointsSheet:
    """Two causes, and all others; two looks, one of them with an answer that is not printed."""
    columns = (PointsColumn("A", "a", "a"), PointsColumn("B", "b", "b"), PointsColumn("C", "", "else"))
    yes, no = PointsAnswer(("yes",), "yes", (4, -4, 0)), PointsAnswer(("no", "never"), "no", (-1, 2, 0))
    looks = tuple(PointsLook(c, c, 1.0, (), (), answers) for c, answers in (("one", (yes, no)), ("two", (yes,))))
    test = DecidingTest(frozenset("AB"), looks[0], (("A", ("hot",), "hot"), ("B", ("cold", "mild"), "cold")))
    return PointsSheet(columns, (1, 0, 2), looks, margin, 1.0, 1.0, 1, (test,))


def test_a_reader_adds_what_was_seen_and_nothing_for_what_was_not() -> None:
    sheet = sheet_of(3)
    assert sheet.totals({}) == (1, 0, 2)
    assert sheet.totals({"one": "never", "two": "no", "three": "yes"}) == (0, 2, 2)
    assert sheet.totals({"one": "yes", "two": "yes"}) == (9, -8, 2)


@pytest.mark.parametrize(
    ("totals", "wins"), [((5, 2, 1), "A"), ((5, 3, 1), ""), ((2, 5, 2), "B"), ((1, 1, 9), ""), ((5, 0, 3), "")]
)
def test_a_cause_wins_that_leads_every_column_by_the_margin(totals: tuple[int, ...], wins: str) -> None:
    assert sheet_of(3).winner(totals) == wins


def test_the_deciding_test_of_the_two_leaders_speaks_for_one() -> None:
    test = sheet_of(3).decides((4, 3, 9))
    assert test and [test.speaks_for(v) for v in ("hot", "mild", "dont_know")] == ["A", "B", ""]
    assert replace(sheet_of(3), deciding=()).decides((4, 3, 9)) is None


def leads(by: int, right: bool, count: int) -> list[AddedUp]:
    return [AddedUp((by, 0, 0), frozenset("A" if right else "B"))] * count


def test_the_margin_is_the_smallest_that_is_right_in_four_of_five() -> None:
    """From 1: 17 of 26 right; from 2: 16 of 20, just enough."""
    done = [*leads(1, True, 1), *leads(1, False, 5), *leads(2, True, 6), *leads(2, False, 3)]
    done += [*leads(5, True, 10), *leads(5, False, 1)]
    sheet = with_margin(sheet_of(0), done)
    assert sheet.margin == 2
    assert [sheet.settles, sheet.right] == pytest.approx([20 / 26, 0.8])
    assert close_pairs(sheet, done) == [frozenset("AB")]


def test_where_no_margin_is_right_often_enough_nothing_is_settled() -> None:
    done = [*leads(5, True, 10), *leads(5, False, 10)]
    sheet = with_margin(sheet_of(0), done)
    assert sheet.settles == 0.0
    assert not any(sheet.winner(d.totals) for d in done)


def test_looks_are_chosen_for_what_they_add_to_those_before() -> None:
    """Twins tell a from the others; `parts` tells b from c, which is less, but new once a twin is there."""
    twin, parts = [[0.95, 0.05], [0.05, 0.95], [0.05, 0.95]], [[0.5, 0.5], [0.85, 0.15], [0.15, 0.85]]
    made = weighed(twin_1=twin, twin_2=twin, parts=parts)
    assert telling(made, ["twin_1", "twin_2", "parts"]) == ["twin_2", "parts", "twin_1"]
    assert telling(made, ["twin_1", "twin_2", "parts"], room=6) == ["twin_2", "parts"]


@cache
def printed_sheet() -> tuple[Grower, PointsSheet]:
    grower = Grower(shipped.quick(), Setup(devices=("laser",)), "ghost_opening")
    composer = PointsComposer(grower)
    return grower, composer.beside({}, front_of(composer)).sheet(lambda sheet: back_fits(sheet, "a4"), cases=200)


def front_of(composer: PointsComposer) -> tuple[MarkedCaution, ...]:
    """The cautions as the front would mark them."""
    told = (composer.grower.kb.cautions[c].says for c in composer.cautions)
    return tuple(MarkedCaution(f"!{n}", says, False) for n, says in enumerate(told, 1))


def card() -> Card:
    grower, sheet = printed_sheet()
    says = grower.kb.complaints["ghost_opening"].says
    return Card(says, "laser", "technician", grower.kb.digest, "2026-11-30", (), (), (), (), 0.0, 0.0, None, sheet)


def test_cells_are_small_whole_numbers_and_looks_harmless() -> None:
    grower, sheet = printed_sheet()
    assert len(sheet.columns) == 13 and len(sheet.looks) >= 5 and sheet.deciding
    cells = [p for look in sheet.looks for a in look.answers for p in a.points] + [*sheet.start]
    assert max(map(abs, cells)) <= MOST_POINTS and all(isinstance(p, int) for p in cells)
    for look in (*sheet.looks, *(test.look for test in sheet.deciding)):
        check = grower.kb.checks[look.check]
        assert not check.hazard and check.who != "electrician"
    assert len({c.letter for c in sheet.columns}) == 13


def test_cautions_of_every_look_stand_on_the_side_or_on_the_front() -> None:
    grower, sheet = printed_sheet()
    marks = {m for look in sheet.looks for m in look.cautions} | {m for c in sheet.columns for m in c.cautions}
    marks |= {m for test in sheet.deciding for m in test.look.cautions}
    assert marks and marks <= set(front_of(PointsComposer(grower))) and not sheet.cautions
    alone = PointsComposer(grower)._draft([])
    assert {m for c in alone.columns for m in c.cautions} == set(alone.cautions)


def test_letters_and_marks_go_on_from_the_front() -> None:
    grower, sheet = printed_sheet()
    first, front = sheet.columns[0].cause, front_of(PointsComposer(grower))[:1]
    again = PointsComposer(grower).beside({first: "A", "of_the_front": "B"}, front)._draft([])
    assert [c.letter for c in again.columns[:2]] == ["A", "C"]
    assert front[0].says not in {c.says for c in again.cautions}


def test_it_takes_one_page_with_every_word_on_it() -> None:
    _, sheet = printed_sheet()
    pages = PdfReader(BytesIO(card_pdf.render([lay_out(card(), "a4")]))).pages
    assert len(pages) == 2
    text = " ".join(pages[1].extract_text().split())
    for look in sheet.looks:
        assert look.asks.split()[0] in text
        assert all(" ".join(a.says.split()[:2]) in text for a in look.answers)
    assert f"by {sheet.margin} or more" in text or not sheet.settles


def test_the_outline_says_the_same() -> None:
    _, sheet = printed_sheet()
    said = [text for _, text, _ in outline(card())]
    first = sheet.looks[0].answers[0]
    told = "  ".join(f"{c.letter} {p:+d}" for c, p in zip(sheet.columns, first.points, strict=True) if p)
    assert f"{first.says}: {told}" in said
    assert all(any(text.startswith(f"{c.says}: ") for text in said) for c in sheet.columns)


def test_too_much_for_the_page_is_told() -> None:
    _, sheet = printed_sheet()
    assert back_fits(sheet, "a4")
    assert not back_fits(replace(sheet, looks=sheet.looks * 2), "a4")


def test_browser_prints_it_on_one_page_and_nothing_runs_over(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "card.html"
    path.write_bytes(card_html.render([lay_out(card(), "a4")]))
    page = browser.new_page()
    page.goto(path.as_uri())
    over, cells, printed = page.evaluate(OVER), page.evaluate(OTHER_CELLS), page.pdf(prefer_css_page_size=True)
    page.close()
    assert (over, cells) == ([], [])
    assert len(PdfReader(BytesIO(printed)).pages) == 2
