"""The record of a finished visit in the pseudo-language: nothing on it is left in English."""

import io
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
from diagnose.report.pdf_text import UNKNOWN, Writer
from diagnose.session.session import conclude, replay
from diagnose.words import say
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


def lamps(record: Record) -> Iterator[str]:
    """The lamps of this device, as its profile describes them."""
    return (fact.value for fact in record.profile if fact.of == "lamp")


def english(text: str, record: Record) -> set[str]:
    """Words left in English that nobody typed."""
    not_ours: Iterable[str] = (TYPED, NOTED, READ, *NAMES, record.knowledge, *lamps(record))
    return set(plain_words(text)) - {word for said in not_ours for word in plain_words(said)}


@pytest.mark.parametrize("version", [0, 1])
def test_no_english_is_left_on_the_page(both: tuple[Record, Record], version: int) -> None:
    text = html.render(both[version]).decode()
    seen = Seen(text)
    assert ("html", "lang", CODE) in seen.attributes
    assert english(seen.text, both[version]) == set()


@pytest.mark.parametrize("version", [0, 1])
def test_the_pdf_says_the_same_and_adds_only_what_the_catalogue_says(
    both: tuple[Record, Record], version: int
) -> None:
    """Its font lacks letters of the pseudo-language, so words are compared as the font can show them."""
    pages = PdfReader(io.BytesIO(pdf.render(both[version]))).pages
    said = {word for page in pages for word in page.extract_text().split()}
    added = [say(f"report.{name}") for name in ("name", "signature", "date")]
    added += [say("report.page", number=n) for n in range(1, len(pages) + 1)]
    added += [say("report.missing_characters", sign=UNKNOWN), "•"]
    shown = set(Writer().plain(" ".join((words_of(both[version]).replace("\n", " : "), *added))).split())
    assert said - {f"{word}:" for word in shown} - shown == set()
    assert len(said) > len(shown) / 2
