"""Writes wrapped, append-only text. Works at 40 columns, without colour, and read aloud."""

import os
import shutil
import sys
import textwrap
from collections.abc import Iterable, Mapping
from typing import IO

from rich.console import Console
from rich.text import Text

NARROWEST = 30
WIDEST = 88


def clean(text: str) -> str:
    """Text from people or files, made harmless for a terminal: no escapes, no direction overrides, one line."""
    return "".join(
        c if c.isprintable() else " "
        for c in text
        if c not in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    )


class Screen:
    """Where text goes. `plain` means no colour and no bold, whatever the terminal can do."""

    def __init__(self, file: IO[str] | None = None, width: int | None = None, plain: bool = False) -> None:
        out = file or sys.stdout
        columns = width or shutil.get_terminal_size().columns
        self.width = max(NARROWEST, min(columns, WIDEST))
        colour = not plain and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb" and out.isatty()
        self._console = Console(
            file=out,
            width=self.width,
            highlight=False,
            markup=False,
            emoji=False,
            soft_wrap=True,
            force_terminal=colour,
            no_color=not colour,
            legacy_windows=False,
        )

    def line(self, text: str = "", style: str = "") -> None:
        """One line or paragraph, wrapped to the width."""
        self.hanging("", text, style)

    def hanging(self, lead: str, text: str, style: str = "") -> None:
        """A paragraph whose later lines are indented under the first."""
        body = textwrap.fill(
            clean(text),
            self.width,
            initial_indent=lead,
            subsequent_indent=" " * len(lead),
            break_on_hyphens=False,
        )
        self._console.print(Text(body or lead.rstrip(), style=style))

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

    def bullets(self, items: Iterable[str], lead: str = " - ", style: str = "") -> None:
        for text in items:
            self.hanging(lead, text, style)

    def steps(self, items: Iterable[str]) -> None:
        """Numbered steps to carry out."""
        for number, text in enumerate(items, start=1):
            self.hanging(f"   {number}. ", text)

    def table(self, rows: Mapping[str, str]) -> None:
        for label, text in rows.items():
            self.pair(label, text)

    def alarm(self, lines: Iterable[str]) -> None:
        """A block that cannot be missed: ruled above and below, every line marked, meaning never by colour alone."""
        rule = "!" * self.width
        self.line()
        self._console.print(Text(rule, style="bold red"))
        for text in lines:
            self.hanging("!! ", text, "bold red")
        self._console.print(Text(rule, style="bold red"))
