"""What draws a record, by the ending of the file."""

from collections.abc import Callable, Mapping
from functools import partial

from diagnose.present.record import Record
from diagnose.report import html, pdf, plain
from diagnose.report.parts import Images


def drawers(images: Images) -> Mapping[str, Callable[[Record], bytes]]:
    """`images`: the pictures of the visit that are there, by their names."""
    return {
        "html": partial(html.render, images=images),
        "pdf": partial(pdf.render, images=images),
        "json": plain.render,
    }
