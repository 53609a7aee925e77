"""The record as one self-contained page for screen and paper."""

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from diagnose.present.record import Record
from diagnose.report.layout import lay_out
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
    environment.filters["kind"] = lambda block: type(block).__name__
    return environment.get_template("record.html")


def render(record: Record) -> bytes:
    """UTF-8 HTML with its style inside; it asks for nothing from outside and runs no script."""
    return _template().render(page=lay_out(record), language=spoken().language).encode()
