"""A card on paper: pages, widths, what a browser and a PDF make of it, and texts that mean harm."""

from dataclasses import fields, is_dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser
from pypdf import PageObject, PdfReader

from diagnose.cards.card import Card
from diagnose.report import card_html, card_pdf
from diagnose.report.card_page import fits, lay_out
from diagnose.report.card_paper import PAPERS
from diagnose.report.card_text import outline
from diagnose.report.card_widths import TYPE, WIDTHS, width, wrap
from tests import shipped
from tests.cards.made import SAMPLE, grown, grown_anew

HOSTILE = '<script>alert(1)</script> & "x" \x1b[31m\u202e' + "endless" * 60


def pdf_pages(card: Card, paper: str) -> list[PageObject]:
    return list(PdfReader(BytesIO(card_pdf.render([lay_out(card, paper)]))).pages)


@pytest.mark.parametrize(
    ("complaint", "kind", "paper", "pages"),
    [(*SAMPLE[0], "a4", 2), (*SAMPLE[1], "a4", 2), (*SAMPLE[2], "a4", 2), ("ghost_opening", "laser", "letter", 1)],
)
def test_pdf_has_no_more_pages_than_asked(complaint: str, kind: str, paper: str, pages: int) -> None:
    _, _, card = grown(complaint, kind, paper, pages)
    found = pdf_pages(card, paper)
    assert len(found) <= pages
    assert [round(float(x)) for x in found[0].mediabox[2:]] == [round(x) for x in PAPERS[paper]]


@pytest.mark.long
def test_every_complaint_and_kind_fits_on_both_papers() -> None:
    for kind in shipped.knowledge().devices:
        for complaint in shipped.knowledge().complaints:
            for paper, pages in (("a4", 2), ("letter", 1)):
                _, _, card = grown_anew(complaint, kind, paper, pages)
                assert len(pdf_pages(card, paper)) <= pages, (complaint, kind)
                assert len(card.steps) >= 3, (complaint, kind)


def test_pdf_shows_every_text_of_the_card() -> None:
    _, _, card = grown(*SAMPLE[0])
    text = " ".join(" ".join(page.extract_text() for page in pdf_pages(card, "a4")).split())
    for step in card.steps:
        assert " ".join(step.asks.split()[:4]) in text
    for box in card.boxes:
        assert box.says.split()[0] in text
    assert f"Page 1 of {len(pdf_pages(card, 'a4'))}" in text


def test_same_card_same_bytes() -> None:
    _, _, card = grown(*SAMPLE[0])
    layout = lay_out(card, "a4")
    assert card_pdf.render([layout]) == card_pdf.render([layout])
    assert card_html.render([layout]) == card_html.render([layout])


def test_widths_are_those_of_the_font() -> None:
    """Reference: reportlab's copy of Adobe's metrics of Helvetica and Helvetica-Bold."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    for bold, name in ((False, "Helvetica"), (True, "Helvetica-Bold")):
        for sign, wide in WIDTHS[bold].items():
            assert wide == round(stringWidth(sign, name, 1000)), sign


def test_lines_never_reach_over_their_room() -> None:
    for runs in ([("short and " * 40, False), (HOSTILE, True)], [("W" * 500, False)], [("", False)]):
        for line in wrap(runs, TYPE, 120.0):
            assert sum(width(text, TYPE, bold) for text, bold in line) <= 120.0 + 1e-6


def test_type_is_large_enough_to_read() -> None:
    assert TYPE >= 8.5


def spoiled(value: Any) -> Any:
    """The same record with hostile text for every text that people or files may have written."""
    if isinstance(value, tuple):
        return tuple(spoiled(v) for v in value)
    if is_dataclass(value) and not isinstance(value, type):
        kept = ("mark", "aim", "letter", "runner_letter", "dated", "digest")
        changed = {f.name: spoiled(getattr(value, f.name)) for f in fields(value) if f.name not in kept}
        return replace(value, **changed)
    return HOSTILE if isinstance(value, str) and value else value


def test_hostile_texts_are_only_texts() -> None:
    card = spoiled(grown(*SAMPLE[0])[2])
    layout = lay_out(card, "a4")
    page = card_html.render([layout]).decode()
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "\x1b" not in page and "\u202e" not in page
    assert len(PdfReader(BytesIO(card_pdf.render([layout]))).pages) == len(layout.sheets)
    assert not fits(card, "a4", 2)


def test_page_asks_for_nothing_from_outside() -> None:
    page = card_html.render([lay_out(grown(*SAMPLE[0])[2], "a4")]).decode()
    for word in ("http", "src=", "url(", "<script", "@import"):
        assert word not in page.replace('http-equiv="Content-Security-Policy"', "")
    assert "@page { size: A4" in page


def test_outline_says_the_same_as_the_card() -> None:
    _, _, card = grown(*SAMPLE[0])
    text = "\n".join(f"{lead}{says}" for lead, says, _ in outline(card))
    assert all(step.asks in text for step in card.steps)
    assert all(box.says in text and box.proof in text for box in card.boxes)
    assert all(line.mark in text for step in card.steps for line in step.lines)


def test_a_cause_s_cautions_and_licence_come_before_its_test() -> None:
    _, _, card = grown(*SAMPLE[0])
    boxes = [box for box in card.boxes if box.cautions]
    assert boxes
    said = [f"{before}{text}" for before, text, _ in outline(card)]
    blocks = [
        b for sheet in lay_out(card, "a4").sheets for column in sheet.columns for b in column if b.mark == "cause"
    ]
    for box in boxes:
        marks = " ".join(c.mark for c in box.cautions)
        block = next(b for b in blocks if b.label == box.letter)
        assert block.rows[0].tail == marks
        at = said.index(f"{box.letter:>3}. {box.says} [{marks}]")
        assert ("licensed electrician" in said[at + 2]) is box.licensed


@pytest.mark.parametrize(("paper", "pages"), [("a4", 2), ("letter", 1)])
def test_browser_prints_it_on_as_many_pages_and_nothing_runs_over(
    browser: Browser, paper: str, pages: int, tmp_path: Path
) -> None:
    layout = lay_out(grown("ghost_opening", "laser", paper, pages)[2], paper)
    path = tmp_path / "card.html"
    path.write_bytes(card_html.render([layout]))
    page = browser.new_page()
    page.goto(path.as_uri())
    over, printed = page.evaluate(OVER), page.pdf(prefer_css_page_size=True)
    page.close()
    assert over == []
    found = PdfReader(BytesIO(printed)).pages
    assert len(found) == len(layout.sheets) <= pages
    assert [round(float(x)) for x in found[0].mediabox[2:]] == pytest.approx([round(x) for x in PAPERS[paper]], abs=1)


OVER = """() => [...document.querySelectorAll('.block, footer p, header, .meta, h1')].filter(b => {
  const box = b.getBoundingClientRect(), of = (b.closest('.columns') || b.closest('.sheet')).getBoundingClientRect();
  return box.bottom > of.bottom + 1 || b.scrollWidth > b.clientWidth + 1;
}).map(b => b.className + ': ' + b.textContent.trim().slice(0, 60))"""
