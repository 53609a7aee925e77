"""Field cards as a PDF, where the extra for it is installed."""

from collections.abc import Sequence

from diagnose.errors import VisitError
from diagnose.report.card_paper import PrintedCard
from diagnose.words import say


def render(layouts: Sequence[PrintedCard]) -> bytes:
    """The same content on the same pages as the HTML. Raises VisitError when reportlab is missing."""
    try:
        from diagnose.report.card_pdf_pages import draw
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "reportlab":
            raise
        raise VisitError(say("report.pdf_needs")) from error
    return draw(layouts)
