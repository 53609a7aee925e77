"""A field card in the pseudo-language: nothing on its page or in its outline is left in English."""

import re
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from diagnose.cards.card import Card
from diagnose.cards.compose import Composer
from diagnose.cards.grow import Grower
from diagnose.cards.plan import fill
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.languages import texts_of, translated
from diagnose.model.visit import Setup
from diagnose.report import card_html
from diagnose.report.card_page import fits, lay_out
from diagnose.report.card_text import outline
from diagnose.words import speaking
from tests.cards.made import DATED, small
from tests.report.test_html import Seen
from tests.words.pseudo import CODE, accented, plain_words

NUMBER = re.compile(r"\b[0-9A-Z]{4}(-[0-9A-Z]{1,4})+\b")  # to call with


@pytest.fixture
def card(pseudo_folder: Path) -> Iterator[Card]:
    """One of the small knowledge, in the language that is spoken while the test runs."""
    english = small()
    kb = translated(english, {key: accented(text) for key, text in texts_of(english).items()})
    grower = Grower(Reasoner(kb, partial(fixpoint, kb)), Setup("technician", True), next(iter(kb.complaints)))
    with speaking(str(pseudo_folder / "words" / CODE)):
        composer = Composer(grower, DATED)
        yield composer.card(fill(grower, lambda plan: fits(composer.card(plan), "a4", 2)))


def english(text: str, card: Card) -> list[str]:
    return plain_words(NUMBER.sub("", text).replace(card.digest[:8], ""))


def test_no_english_is_left_on_the_page(card: Card) -> None:
    text = card_html.render([lay_out(card, "a4")]).decode()
    seen = Seen(text)
    assert ("html", "lang", CODE) in seen.attributes
    assert card.steps and card.boxes and card.orders
    assert english(seen.text, card) == []


def test_no_english_is_left_in_the_outline(card: Card) -> None:
    assert english("\n".join(f"{lead}{text}" for lead, text, _ in outline(card)), card) == []
