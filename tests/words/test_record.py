"""The record of a finished visit in the pseudo-language: nothing on it is left in English."""

import io
import re
import unicodedata
from collections.abc import Iterable, Iterator
from datetime import UTC
from functools import partial

import pytest
from pypdf import PdfReader

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.record import Record
from diagnose.present.record_parts import records
from diagnose.present.times import times_of
from diagnose.report import html, pdf
from diagnose.report.pdf_text import Writer
from diagnose.session.session import conclude, replay
from tests.report.test_html import Seen
from tests.report.test_record import words_of
from tests.report.visits import whole
from tests.words.pseudo import CODE, plain_words

TYPED = "A. Tester B. Second Invented works, north gate it opens by itself as soon as it gets dark & wet"
NOTED = "9.6 V at the sensor, still low Box drained, gland replaced test piece at 12 points"
READ = "insulation 180 MΩ, supply ≥ 22.9 V for ten minutes"
NAMES = ("gate", "diagnose", "UTC", "tech")  # of the program, of the clock


@pytest.fixture
def both(pseudo_kb: KnowledgeBase) -> tuple[Record, Record]:
    """The customer's record and the full one, of a visit with two repairs."""
    reasoner, events = Reasoner(pseudo_kb, partial(fixpoint, pseudo_kb)), whole()
    session = replay(pseudo_kb, events)
    times = [f"2026-03-01T{8 + n // 60:02d}:{n % 60:02d}:00+00:00" for n in range(len(events))]
    return records(reasoner, session, conclude(reasoner, session), times_of(events, times, UTC))


def computed(record: Record) -> Iterator[str]:
    """What calculators say of a reading."""
    return (limit for stage in record.stages for check in stage.checks for limit in check.limits)


def english(text: str, record: Record) -> set[str]:
    """Words left in English that nobody typed and no calculator said."""
    not_ours: Iterable[str] = (TYPED, NOTED, READ, *NAMES, *computed(record))
    return set(plain_words(text)) - {word for said in not_ours for word in plain_words(said)}


@pytest.mark.parametrize("version", [0, 1])
def test_no_english_is_left_on_the_page(both: tuple[Record, Record], version: int) -> None:
    text = html.render(both[version]).decode()
    seen = Seen(text)
    assert ("html", "lang", CODE) in seen.attributes
    assert english(seen.text, both[version]) == set()


@pytest.mark.parametrize("version", [0, 1])
def test_no_english_is_left_in_the_pdf(
    both: tuple[Record, Record], version: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The font lacks letters of the pseudo-language; they are kept here, for the text that stands behind the marks."""
    monkeypatch.setattr(Writer, "plain", lambda _, text: unicodedata.normalize("NFC", text))
    pages = PdfReader(io.BytesIO(pdf.render(both[version]))).pages
    said = " ".join(page.extract_text() for page in pages)
    assert english(said, both[version]) == set()
    squeezed = re.sub(r"\s+", "", said)
    assert [line for line in words_of(both[version]).splitlines() if re.sub(r"\s+", "", line)[:40] not in squeezed] == []
