"""The record as a PDF, where the extra for it is installed."""

from diagnose.errors import VisitError
from diagnose.present.record import Record
from diagnose.report.layout import lay_out
from diagnose.report.parts import NO_IMAGES, Images
from diagnose.words import say


def render(record: Record, images: Images = NO_IMAGES) -> bytes:
    """The same content as the page. Raises VisitError when reportlab is missing."""
    try:
        from diagnose.report.pdf_pages import draw
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "reportlab":
            raise
        raise VisitError(say("report.pdf_needs")) from error
    return draw(lay_out(record), images)
