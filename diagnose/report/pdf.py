"""The record as a PDF, where the extra for it is installed."""

from diagnose.errors import VisitError
from diagnose.report.layout import lay_out
from diagnose.report.record import Record


def render(record: Record) -> bytes:
    """The same content as the page. Raises VisitError when reportlab is missing."""
    try:
        from diagnose.report.pdf_pages import draw
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "reportlab":
            raise
        raise VisitError(
            "a PDF needs one more package: pip install 'gate-diagnose[pdf]'; --html makes a page that prints as well"
        ) from error
    return draw(lay_out(record))
