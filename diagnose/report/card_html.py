"""Field cards as one self-contained page: read on a screen, printed on the paper it was laid out for."""

from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from diagnose.report import card_page, card_paper, card_table
from diagnose.report.card_paper import PrintedCard
from diagnose.words import say, spoken


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("diagnose.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["say"] = say
    return environment.get_template("card.html")


def render(layouts: Sequence[PrintedCard]) -> bytes:
    """UTF-8 HTML of cards that were laid out for one paper; it asks for nothing from outside and runs no script."""
    shown = {"layouts": layouts, "first": layouts[0], "p": card_page, "c": card_paper, "k": card_table}
    return _template().render(**shown, language=spoken().language).encode()
