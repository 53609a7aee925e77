"""The page: whole, self-contained, escaped, and readable by machines that read aloud."""

import re
from html.parser import HTMLParser

import pytest

from diagnose.present.record import Record
from diagnose.report import html
from tests.report.visits import HOSTILE, WORDS, hostile, records_of, whole_records

VOID = {"meta", "col", "br", "hr", "img", "link", "input"}


class Seen(HTMLParser):
    """Tags in order, attributes, text outside style, and whether every tag was closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.text = ""
        self.open: list[str] = []
        self.broken: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.broken.append(tag)

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text += data


def page(record: Record) -> tuple[str, Seen]:
    text = html.render(record).decode("utf-8")
    return text, Seen(text)


@pytest.mark.parametrize("version", [0, 1])
def test_the_page_is_well_formed_and_has_landmarks(version: int) -> None:
    _, seen = page(whole_records()[version])
    assert not seen.broken and not seen.open
    assert [seen.tags.count(t) for t in ("header", "main", "footer", "h1")] == [1, 1, 1, 1]
    assert ("html", "lang", "en") in seen.attributes
    ids = [value for _, name, value in seen.attributes if name == "id"]
    labels = [value for tag, name, value in seen.attributes if (tag, name) == ("section", "aria-labelledby")]
    assert ids == labels and len(set(ids)) == len(ids) > 8


@pytest.mark.parametrize("version", [0, 1])
def test_the_page_asks_for_nothing_from_outside(version: int) -> None:
    text, seen = page(whole_records()[version])
    assert not {"script", "link", "img", "iframe", "object", "embed", "a", "base", "form"} & set(seen.tags)
    assert not {"src", "href", "srcset", "data", "action", "poster"} & {name for _, name, _ in seen.attributes}
    assert not re.search(r"url\(|@import|https?:|file:/|//", text)
    assert [v for t, n, v in seen.attributes if (t, n) == ("meta", "content") and v.startswith("default-src 'none'")]


def test_words_are_escaped_and_shown() -> None:
    text, seen = page(whole_records()[0])
    assert "dark &amp; wet" in text and f"“{WORDS}”" in seen.text
    assert "≥ 22.9 V" in seen.text


@pytest.mark.parametrize("version", [0, 1])
def test_hostile_text_stays_text(version: int) -> None:
    record = records_of(hostile())[version]
    text, seen = page(record)
    assert not seen.broken and not seen.open
    assert not {"script", "img", "b"} & set(seen.tags)
    assert not [a for a in seen.attributes if a[1].startswith("on")]
    assert seen.text.count("<script>alert(1)</script>") > 5 and "{{ 7*7 }}" in seen.text
    assert not re.search("[\x00-\x08\x0b-\x1f\u202a-\u202e\u2066-\u2069\ud800-\udfff]", text)
    assert len(text) < 80_000 < len(HOSTILE) * 9  # it was given nine times over


def test_the_narrow_page_labels_what_the_head_of_the_table_would_say() -> None:
    text, seen = page(whole_records()[0])
    assert text.count('<span class="label" aria-hidden="true">') == seen.tags.count("td")
    assert "overflow-wrap: anywhere" in text and "@media print" in text and "max-width: 34rem" in text
