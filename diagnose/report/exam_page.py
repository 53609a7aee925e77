"""An examination as one page to print, with lines to sign."""

from diagnose.present.exam import ExamRecord
from diagnose.report.figures_page import FiguresSection, figures_page
from diagnose.words import say


def exam_page(record: ExamRecord) -> bytes:
    """UTF-8 HTML that asks for nothing from outside."""
    line = "_" * 30
    sections = (
        FiguresSection(record.verdict, record.asked, heads=record.heads, rows=record.rows),
        FiguresSection(say("practice.exam_by_hand"), "  ".join(f"{says}: {line}" for says in record.sign)),
    )
    return figures_page(record.title, record.who, sections, say("practice.exam_foot"))
