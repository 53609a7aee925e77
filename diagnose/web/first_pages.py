"""The first lesson and the trade's words in the browser."""

from starlette.responses import Response

from diagnose.practice.lessons import practice_reasoner
from diagnose.present.first_lesson import heading_of, walk_pages, worked_steps
from diagnose.present.terms import meanings, meant
from diagnose.web.context import Ask, PageContext


def walk(context: PageContext, ask: Ask) -> Response:
    """A link of the walk; after the last one the example that is worked to its end."""
    pages, step = walk_pages(context.kb), ask.query.get("step", "1")
    number = min(max(int(step), 1), len(pages) + 1) if step.isdecimal() and len(step) < 4 else 1
    if number <= len(pages):
        return context.page(ask, "walk.html", page=pages[number - 1], number=number)
    reasoner = practice_reasoner(context.kb)
    worked = [e for e in context.kb.examples.values() if not e.given]
    shown = [(e.says, heading_of(context.kb, e), worked_steps(reasoner, e)[0]) for e in worked]
    half = next((e.says for e in context.kb.examples.values() if e.given and context.exercises), "")
    return context.page(ask, "worked.html", examples=shown, number=number, half=half)


def words(context: PageContext, ask: Ask) -> Response:
    """Every word, or those that were asked for."""
    asked = ask.query.get("q", "")[:200]
    found = meant(context.kb, asked) if asked else ()
    return context.page(ask, "words.html", found=found, asked=asked, all=meanings(context.kb))
