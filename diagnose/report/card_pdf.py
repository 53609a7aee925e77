"""Field cards as a PDF, where the extra for it is installed."""

from collections.abc import Sequence

from diagnose.errors import VisitError
from diagnose.report.card_page import Layout


def render(layouts: Sequence[Layout]) -> bytes:
    """The same content on the same pages as the HTML. Raises VisitError when reportlab is missing."""
    try:
        from diagnose.report.card_pdf_pages import draw
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "reportlab":
            raise
        raise VisitError(
            "a PDF needs one more package: pip install 'gate-diagnose[pdf]'; --html makes a page that prints as well"
        ) from error
    return draw(layouts)
