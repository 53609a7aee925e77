"""No word stands in a template: every text of a page is said from the catalogue."""

import re
from collections.abc import Iterator

import pytest

from diagnose.words.read import SHIPPED

FOLDERS = ("web/templates",)  # of templates that say everything from the catalogue
NAMES = {"PDF", "JSON"}  # of formats, the same in every language
TOLD = re.compile(r'(?:aria-label|alt|title|placeholder)="([^"]*)"')


def left_in(text: str) -> Iterator[str]:
    """Words that a template says itself, between its tags or to who cannot see them."""
    drawn = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", "", text, flags=re.S)
    between = re.sub(r"&[a-z]+;|<[^>]*>", " ", drawn)
    for said in (between, *TOLD.findall(drawn)):
        yield from (word for word in re.findall(r"[A-Za-z]{2,}", said) if word not in NAMES)


@pytest.mark.parametrize("folder", FOLDERS)
def test_no_word_stands_in_a_template(folder: str) -> None:
    paths = sorted((SHIPPED.parent / folder).glob("*.html"))
    assert paths and {p.name: said for p in paths if (said := list(left_in(p.read_text("utf-8"))))} == {}


def test_a_word_in_a_template_would_be_found() -> None:
    page = '<p class="a b">Tag: {{ say("x y") }}</p>{# note #}<i title="Site"></i>&amp;{% if a %}PDF{% endif %}'
    assert list(left_in(page)) == ["Tag", "Site"]
