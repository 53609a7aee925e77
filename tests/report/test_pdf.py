"""The PDF, read back by pypdf."""

import io
import re
import sys

import pytest
from pypdf import PdfReader

from diagnose.errors import VisitError
from diagnose.present.record import Record
from diagnose.report import pdf
from diagnose.report.layout import lay_out
from diagnose.report.pdf_text import UNKNOWN, Writer
from diagnose.words import say
from tests.report.test_record import words_of
from tests.report.visits import SITE, hostile, records_of, whole_records


def text_of(record: Record) -> str:
    reader = PdfReader(io.BytesIO(pdf.render(record)))
    return " ".join(page.extract_text() for page in reader.pages)


def missing_note() -> str:
    return say("report.missing_characters", sign=UNKNOWN)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("version", [0, 1])
def test_the_pdf_says_everything_the_page_says(version: int) -> None:
    record = whole_records()[version]
    said = squeezed(re.sub(r"Visit record[^\n]*\n?page \d+", "", text_of(record)))
    missing = [line for line in words_of(record).splitlines() if squeezed(line)[:60] not in said]
    assert missing == []


def test_signs_of_the_trade_can_be_read_back() -> None:
    said = text_of(whole_records()[1])
    for sign in "Ω≥²°":
        assert sign in said
    assert missing_note()[:20] not in said


def test_fonts_are_embedded_and_the_document_is_named() -> None:
    data = pdf.render(whole_records()[0])
    reader = PdfReader(io.BytesIO(data))
    assert data.count(b"/FontFile2") == 2  # regular and bold
    assert reader.metadata and SITE in str(reader.metadata.title)
    assert reader.pages[0].mediabox.width < 596 and reader.pages[0].mediabox.height < 792.1  # A4 wide, letter high


def test_the_same_record_gives_the_same_bytes() -> None:
    assert pdf.render(whole_records()[0]) == pdf.render(whole_records()[0])


@pytest.mark.parametrize("version", [0, 1])
def test_hostile_text_is_printed_as_text(version: int) -> None:
    record = records_of(hostile())[version]
    data = pdf.render(record)
    said = text_of(record)
    assert squeezed("<script>alert(1)</script><img src=x onerror=alert(2)><b>bold</b> &amp;") in squeezed(said)
    assert "/JavaScript" not in data.decode("latin-1") and "/URI" not in data.decode("latin-1")
    assert not re.search("[\u202a-\u202e\ud800-\udfff]", said)
    assert squeezed(missing_note()) in squeezed(said)
    assert len(PdfReader(io.BytesIO(data)).pages) < 20


def test_characters_that_the_font_lacks_are_replaced_and_owned_up_to() -> None:
    writer = Writer()
    assert writer.plain("ő → μA Ω ≥") == "o -> µA Ω ≥" and not writer.missing
    assert writer.plain("Привет") == "??????" and writer.missing
    assert writer.markup("<b>&") == "&lt;b&gt;&amp;"


def test_every_text_of_the_page_is_laid_out_for_both() -> None:
    """The page and the PDF draw the same value; this keeps the full one from shrinking unnoticed."""
    assert len(lay_out(whole_records()[1]).sections) == 12


def test_without_reportlab_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [m for m in sys.modules if m.startswith(("reportlab", "diagnose.report.pdf_"))]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "reportlab", None)
    with pytest.raises(VisitError, match=r"gate-diagnose\[pdf\]"):
        pdf.render(whole_records()[0])
