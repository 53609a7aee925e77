"""The words in a picture: its title, its description and its labels, in the order in which they stand in the SVG."""

import re
from collections.abc import Iterable
from html import escape, unescape

_WORDS = re.compile(r"(<(?:title|desc|text)\b[^>]*>)([^<]*[^\W\d][^<]*)")


def words_in(picture: str) -> tuple[str, ...]:
    """What it says, as plain text."""
    return tuple(unescape(text) for _, text in _WORDS.findall(picture))


def with_words(picture: str, texts: Iterable[str]) -> str:
    """The picture with other words, as many as it has; whatever they are, they stay text."""
    left = iter(texts)
    return _WORDS.sub(lambda found: found[1] + escape(next(left), quote=False), picture)
