"""Widths of the letters of Helvetica, in thousandths of the type size.

From the font's published metrics (Adobe, AFM files of the standard PDF fonts, as reportlab ships them; a test
compares). Arial, Liberation Sans and Arimo are made to the same widths; `font-size-adjust` on the page brings any
other font to the width of these digits. Letters that are not listed count as wide as any.
"""

from collections.abc import Mapping, Sequence

TYPE, LEADING = 8.5, 10.4
WIDEST = 1015
_REGULAR = {
    191: "'", 222: "ijl‘’", 260: "|", 278: " \u00a0!,./:;I[\\]ft·", 333: "()-`r²³“”", 334: "{}", 350: "•", 355: '"',
    389: "*", 400: "°", 469: "^", 500: "Jcksvxyzç", 556: "#$0123456789?L_abdeghnopquµäöüéèàñ–", 584: "+<=>~×±",
    611: "FTZß", 667: "&ABEKPSVXYÄ", 722: "CDHNRUwÜ", 778: "GOQÖ", 833: "Mm", 834: "½¼¾", 889: "%", 944: "W",
    1000: "—…", 1015: "@",
}  # fmt: skip
_BOLD = {
    238: "'", 278: " \u00a0,./I\\ijl·‘’", 280: "|", 333: "!()-:;[]`ft²³", 350: "•", 389: "*r{}", 400: "°", 474: '"',
    500: "z“”", 556: "#$0123456789J_aceksvxyäéèàç–", 584: "+<=>^~×±", 611: "?FLTZbdghnopquµöüßñ", 667: "EPSVXY",
    722: "&ABCDHKNRUÄÜ", 778: "GOQwÖ", 833: "M", 834: "½¼¾", 889: "%m", 944: "W", 975: "@", 1000: "—…",
}  # fmt: skip
WIDTHS: Mapping[bool, Mapping[str, int]] = {
    bold: {sign: width for width, signs in table.items() for sign in signs}
    for bold, table in ((False, _REGULAR), (True, _BOLD))
}

Run = tuple[str, bool]  # text, bold


def width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is at this type size, in the unit of the size."""
    known = WIDTHS[bold]
    return sum(known.get(sign, WIDEST) for sign in text) * size / 1000.0


def wrap(runs: Sequence[Run], size: float, room: float) -> list[list[Run]]:
    """Runs broken into lines of at most `room`; a word that is wider than that is cut."""
    lines: list[list[Run]] = [[]]
    used = 0.0
    for word, bold in (piece for run in runs for piece in _pieces(*run, size, room)):
        wide = width(word, size, bold)
        space = width(" ", size, bold) if lines[-1] else 0.0
        if lines[-1] and used + space + wide > room:
            lines.append([])
            used, space = 0.0, 0.0
        _append(lines[-1], word, bold)
        used += space + wide
    return lines


def _pieces(text: str, bold: bool, size: float, room: float) -> list[Run]:
    """Words; an endless one in parts that fit."""
    found = []
    for word in filter(None, text.split(" ")):
        while width(word, size, bold) > room:
            fits = next(n for n in range(len(word), 0, -1) if n == 1 or width(word[:n], size, bold) <= room)
            found.append((word[:fits], bold))
            word = word[fits:]
        found.append((word, bold))
    return found


def _append(line: list[Run], word: str, bold: bool) -> None:
    if line and line[-1][1] == bold:
        line[-1] = (f"{line[-1][0]} {word}", bold)
    else:
        line.append((word, bold))
