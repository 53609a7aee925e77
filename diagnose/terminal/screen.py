"""Writes wrapped, append-only text. Works at 40 columns, without colour, and read aloud."""

import os
import shutil
import sys
from collections.abc import Iterable
from typing import IO

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from diagnose.errors import printable

NARROWEST = 30
WIDEST = 88
_TYPED_ROWS = 2  # the prompt, and the line under it
_AROUND_ROWS = 4  # a blank row, the question above a list and what may be typed below it
_NUMBER = 5  # columns of a number in a list
_LONGEST_LEAD = 12  # on a screen under 60 columns a longer lead is not hung under


clean = printable


class _Console(Console):
    def on_broken_pipe(self) -> None:
        """Whoever stopped reading has what he wanted; rich would end the program with an error here."""
        raise BrokenPipeError


class Screen:
    """Where text goes. `plain` means no colour and no bold, whatever the terminal can do."""

    def __init__(self, file: IO[str] | None = None, width: int | None = None, plain: bool = False) -> None:
        out = file or sys.stdout
        self._fixed_width = width
        self._on_terminal = out.isatty()
        self.written = 0  # rows so far
        colour = not plain and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb" and out.isatty()
        self._console = _Console(
            file=out,
            highlight=False,
            markup=False,
            emoji=False,
            soft_wrap=True,
            force_terminal=colour,
            no_color=not colour,
            legacy_windows=False,
        )

    @property
    def width(self) -> int:
        """Columns to write in; follows a terminal that is turned or resized."""
        columns = self._fixed_width or shutil.get_terminal_size().columns
        return max(NARROWEST, min(columns, WIDEST))

    def out_of_sight(self, mark: int) -> bool:
        """Whether what was written after `written` was `mark` has begun to scroll off a terminal."""
        return self._on_terminal and self.written - mark > shutil.get_terminal_size().lines - _TYPED_ROWS

    def has_room(self, items: Iterable[str]) -> bool:
        """Whether a numbered list, its question and the prompt stay on the terminal together."""
        rows = sum(len(Text(clean(text)).wrap(self._console, self.width - _NUMBER)) for text in items)
        room = shutil.get_terminal_size().lines - _TYPED_ROWS - _AROUND_ROWS
        return not self._on_terminal or rows <= room

    def line(self, text: str = "", style: str = "") -> None:
        """One line or paragraph, wrapped to the width."""
        self.hanging("", text, style)

    def hanging(self, lead: str, text: str, style: str = "") -> None:
        """A paragraph whose later lines are indented under the first; under little of a long lead if narrow."""
        lead, body = clean(lead), clean(text)
        indent = cell_len(lead)
        if self.width < 60 and indent > _LONGEST_LEAD:
            bare = lead.lstrip(" ")
            lead, body, indent = lead[: len(lead) - len(bare)], bare + body, len(lead) - len(bare)
        lines = Text(body).wrap(self._console, self.width - indent) if body.strip() else [Text()]
        for number, row in enumerate(lines):
            self.written += 1
            start = lead if number == 0 else " " * indent
            self._console.print(Text((start + row.plain).rstrip(), style=style))

    def row(self, lead: str, text: str) -> None:
        """One thing of a list: hanging on a terminal; in a pipe a line of its own, so that lines can be counted."""
        if self._on_terminal or self._fixed_width:
            self.hanging(lead, text)
        else:
            self._console.print(Text(clean(lead + text).rstrip()))

    def heading(self, text: str) -> None:
        """A heading with a blank line above and a rule of its own length below."""
        self.line()
        self.line(text, "bold")
        self.line("-" * min(len(text), self.width), "dim")

    def pair(self, label: str, text: str, style: str = "") -> None:
        """'label: text', hanging under the text where there is room for it."""
        lead = f"{label}: "
        if self.width < 60:
            self.hanging("", lead + text, style)
        else:
            self.hanging(lead, text, style)

    def numbered(self, items: Iterable[str], start: int = 1) -> None:
        """A list to choose from by number."""
        for number, text in enumerate(items, start=start):
            self.hanging(f"{number:3d}  ", text)

    def steps(self, items: Iterable[str]) -> None:
        """Numbered steps to carry out."""
        for number, text in enumerate(items, start=1):
            self.hanging(f"   {number}. ", text)

    def alarm(self, lines: Iterable[str]) -> None:
        """A block that cannot be missed: ruled above and below, every line marked, meaning never by colour alone."""
        rule = "!" * self.width
        self.line()
        self.line(rule, "bold red")
        for text in lines:
            self.hanging("!! ", text, "bold red")
        self.line(rule, "bold red")
