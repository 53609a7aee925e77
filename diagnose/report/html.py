"""The record as one self-contained page for screen and paper."""

from base64 import b64encode
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from diagnose.present.record import Record
from diagnose.report.layout import lay_out
from diagnose.report.parts import NO_IMAGES, Images
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


def render(record: Record, images: Images = NO_IMAGES) -> bytes:
    """UTF-8 HTML with its style and pictures inside; it asks for nothing from outside and runs no script."""
    inside = {name: b64encode(data).decode() for name, data in images.items()}
    return _template().render(page=lay_out(record), images=inside, language=spoken().language).encode()
