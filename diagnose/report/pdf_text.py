"""Fonts and text for the PDF: which characters can be shown, and what stands for those that cannot."""

import unicodedata
from xml.sax.saxutils import escape

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from diagnose.words import say

REGULAR, BOLD = "Vera", "VeraBd"  # reportlab ships these two files; embedded, and they carry Ω ≥ ² °
UNKNOWN = "?"
_ALIKE = {"μ": "µ", "\u2126": "Ω", "→": "->", "←": "<-", "′": "'", "″": '"', "\u2011": "-"}
_WORDS = {"✓": "session.yes", "✗": "session.no"}


class Writer:
    """Turns text into reportlab's paragraph markup; remembers whether anything could not be shown."""

    def __init__(self) -> None:
        fonts = [TTFont(name, f"{name}.ttf") for name in (REGULAR, BOLD)]
        for font in fonts:
            pdfmetrics.registerFont(font)
        self._known = frozenset.intersection(*(frozenset(font.face.charToGlyph) for font in fonts))
        self.missing = False

    def plain(self, text: str) -> str:
        """The text in characters of the font."""
        return "".join(c if ord(c) in self._known else self._instead(c) for c in unicodedata.normalize("NFC", text))

    def markup(self, text: str) -> str:
        """The text as markup: nothing in it is taken for a tag."""
        return escape(self.plain(text))

    def _instead(self, character: str) -> str:
        """Something alike, the letter without its accents, or the sign for 'cannot be shown'."""
        word = say(_WORDS[character]) if character in _WORDS else ""
        alike = word or _ALIKE.get(character) or unicodedata.normalize("NFKD", character)
        shown = "".join(c for c in alike if ord(c) in self._known and not unicodedata.combining(c))
        if not shown and not unicodedata.category(character).startswith(("M", "C")):
            self.missing = True
            return UNKNOWN
        return shown
