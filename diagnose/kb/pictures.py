"""Pictures that explain a check: small SVG drawings, inlined into pages, so only plain drawing is let through.

What is allowed is listed; everything else is refused: scripts, styles, links, entities, ids (two pictures on a page
would share them), and anything that names a resource outside the picture. So is what XML and HTML read differently -
comments, CDATA, processing instructions - since a page would find other markup in them than was looked at here.
"""

import re
from collections.abc import Mapping
from functools import partial
from pathlib import PurePosixPath
from xml.parsers import expat

from diagnose.kb.text import Problem
from diagnose.words import say

MAX_BYTES = 20_000
WIDTH = 320  # drawing units across: one unit is one pixel on the narrowest phone
LEAST_LETTERS = 14.0  # px, at that width
NAMESPACE = "http://www.w3.org/2000/svg"
DRAWN = ("g", "path", "line", "polyline", "polygon", "rect", "circle", "ellipse", "text", "tspan")
ELEMENTS = ("svg", "title", "desc", *DRAWN)
_NUMBER = r"-?(\d+(\.\d+)?|\.\d+)"
_NUMBERS = rf"{_NUMBER}([ ,]+{_NUMBER})*"
_COLOUR = r"none|currentColor|#[0-9a-f]{6}"
_ONE = "x y x1 y1 x2 y2 cx cy r rx ry dx dy width height stroke-width font-size fill-opacity stroke-opacity"
ATTRIBUTES: Mapping[str, re.Pattern[str]] = {
    name: re.compile(allowed)
    for name, allowed in {
        **dict.fromkeys(_ONE.split(), _NUMBER),
        "points": _NUMBERS,
        "stroke-dasharray": _NUMBERS,
        "d": r"[MmLlHhVvCcSsQqTtAaZz\d\s.,-]+",
        "fill": _COLOUR,
        "stroke": _COLOUR,
        "transform": rf"(translate|rotate)\({_NUMBERS}\)",
        "stroke-linecap": "round|butt|square",
        "stroke-linejoin": "round|miter|bevel",
        "text-anchor": "start|middle|end",
        "font-weight": "bold",
        "font-family": "sans-serif",
        "role": "img",
        "viewBox": rf"0 0 {WIDTH} \d+",
        "xmlns": re.escape(NAMESPACE),
    }.items()
}
ROOT_ONLY = ("role", "viewBox", "xmlns")
REFUSED = {
    "StartDoctypeDeclHandler": "doctype",
    "XmlDeclHandler": "xml",
    "ProcessingInstructionHandler": "instruction",
    "CommentHandler": "comment",
    "StartCdataSectionHandler": "cdata",
}


class _RefusedPicture(Exception):
    pass


def picture_id(name: str) -> str:
    """The id of the picture in the file `name`, or nothing where the file is not a picture."""
    path = PurePosixPath(name)
    return path.stem if path.suffix == ".svg" else ""


def picture_problems(text: str, file: str) -> list[Problem]:
    """Everything in a picture that must not be inlined into a page, or that a reader would miss."""
    if (size := len(text.encode())) >= MAX_BYTES:
        return [Problem(file, 1, 1, say("knowledge.picture_large", bytes=f"{size:,}", most=f"{MAX_BYTES:,}"))]
    return sorted(_Reading(file).read(text))


class _Reading:
    """One pass over the XML of a picture."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.found: list[Problem] = []
        self.open: list[str] = []
        self.texts = {"title": "", "desc": ""}
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._characters
        for handler, what in REFUSED.items():
            setattr(self.parser, handler, partial(self._refuse, what))

    def read(self, text: str) -> list[Problem]:
        try:
            self.parser.Parse(text, True)
        except _RefusedPicture:
            return self.found
        except expat.ExpatError as error:
            says = say("knowledge.no_svg", why=expat.ErrorString(error.code))
            self.found.append(Problem(self.file, error.lineno, error.offset + 1, says))
            return self.found
        for name, content in self.texts.items():
            if not content.strip():
                self.found.append(Problem(self.file, 1, 1, say("knowledge.picture_needs", name=name)))
        return self.found

    def _wrong(self, says: str) -> None:
        line, column = self.parser.CurrentLineNumber, self.parser.CurrentColumnNumber + 1
        self.found.append(Problem(self.file, line, column, says))

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if name not in ELEMENTS:
            self._wrong(say("knowledge.element_not_allowed", name=name, known=", ".join(ELEMENTS)))
        if (name == "svg") != (not self.open) or self.open[-1:] in (["title"], ["desc"]):
            self._wrong(say("knowledge.one_svg"))
        for attribute, value in attributes.items():
            self._attribute(attribute, value)
        if not self.open:
            for needed in ROOT_ONLY:
                if needed not in attributes:
                    self._wrong(say("knowledge.svg_needs", needed=needed))
        self.open.append(name)

    def _attribute(self, name: str, value: str) -> None:
        allowed = ATTRIBUTES.get(name)
        if allowed is None or (name in ROOT_ONLY and self.open):
            self._wrong(say("knowledge.attribute_not_allowed", name=name))
        elif not allowed.fullmatch(value):
            self._wrong(say("knowledge.value_not_allowed", name=name, value=value[:40]))
        elif name == "font-size" and float(value) < LEAST_LETTERS:
            self._wrong(say("knowledge.small_letters", value=value, least=f"{LEAST_LETTERS:g}"))

    def _end(self, _name: str) -> None:
        self.open.pop()

    def _characters(self, data: str) -> None:
        inside = self.open[-1]
        if inside in self.texts and len(self.open) == 2:
            self.texts[inside] += data

    def _refuse(self, what: str, *_: object) -> None:
        """Ends the reading: no entity of a DOCTYPE is ever expanded."""
        self._wrong(say("knowledge.not_allowed", what=say(f"knowledge.picture_{what}")))
        raise _RefusedPicture
